"""How long reeds play, as places for a picture."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.term.charts.frame import BOTTOM, LEFT, RIGHT, TOP, WIDTH
from lessons.term.charts.playing import HEIGHT, StepAt, playing


def corners(path):
    return [tuple(map(float, pair)) for pair in re.findall(r"(-?[\d.]+),(-?[\d.]+)", path)]


@st.composite
def curves(draw):
    days = sorted(draw(st.lists(st.floats(0, 90), unique=True, max_size=12)))
    shares = sorted(draw(st.lists(st.floats(0, 1), min_size=len(days), max_size=len(days))), reverse=True)
    return [StepAt(day, share, share / 2, (1 + share) / 2) for day, share in zip(days, shares, strict=True)]


@given(curves(), st.lists(st.floats(0, 90), max_size=8))
def test_the_share_only_falls_and_all_lies_inside(steps, still):
    it = playing(steps, still, 90.0)
    line = corners(it.steps)
    for (x, y), (after_x, after_y) in pairwise(line):
        assert after_x >= x
        assert after_y >= y
    for x, y in [*line, *corners(it.interval), *((one.x, one.y) for one in it.still)]:
        assert LEFT <= x <= WIDTH - RIGHT
        assert TOP <= y <= HEIGHT - BOTTOM
    assert line[0] == (LEFT, TOP)
    assert line[-1][0] == WIDTH - RIGHT


def test_a_reed_still_playing_stands_on_the_line():
    it = playing([StepAt(10, 0.5, 0.2, 0.8)], [5.0, 20.0], 40.0)
    assert it.still[0].y == TOP
    assert it.still[1].y == (HEIGHT - BOTTOM + TOP) / 2


def test_without_an_end_all_still_play():
    it = playing([], [3.0], 3.0)
    assert {y for _x, y in corners(it.steps)} == {TOP}


def test_days_on_the_axis_are_whole():
    assert [tick.value for tick in playing([], [1.0], 1.5).x_ticks] == [0.0, 1.0]


@pytest.mark.parametrize(
    ("steps", "still", "longest"),
    [
        ([], [], 0.0),
        ([StepAt(5, 0.5, 0, 1)], [], 4.0),
        ([], [9.0], 4.0),
        ([StepAt(5, 0.5, 0, 1), StepAt(3, 0.4, 0, 1)], [], 9.0),
    ],
)
def test_what_lies_beyond_or_out_of_order_is_refused(steps, still, longest):
    with pytest.raises(ValueError, match="in order"):
        playing(steps, still, longest)
