"""Single numbers in the order they were made, as places for a picture."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.term.charts.frame import BOTTOM, LEFT, RIGHT, TOP, WIDTH
from lessons.term.charts.individuals import HEIGHT, individuals


@given(st.lists(st.floats(60, 80), min_size=1, max_size=60), st.floats(0, 5))
def test_dots_and_lines_lie_inside_the_frame_from_left_to_right(values, spread):
    it = individuals(values, [False] * len(values), 72.0, 72.0 - spread, 72.0 + spread)
    assert all(LEFT <= dot.x <= WIDTH - RIGHT and TOP <= dot.y <= HEIGHT - BOTTOM for dot in it.dots)
    assert [dot.x for dot in it.dots] == sorted(dot.x for dot in it.dots)
    assert TOP <= it.upper <= it.centre <= it.lower <= HEIGHT - BOTTOM


def test_all_equal_numbers_still_have_a_picture():
    it = individuals([72.0] * 4, [False] * 4, 72.0, 72.0, 72.0)
    assert {dot.y for dot in it.dots} == {it.centre}


def test_what_stands_out_keeps_its_sign():
    it = individuals([72.0, 79.0], [False, True], 72.0, 70.0, 74.0)
    assert [dot.signals for dot in it.dots] == [False, True]
    assert it.dots[1].y < it.upper


@pytest.mark.parametrize(
    ("values", "signals", "lines"),
    [([], [], (72, 71, 73)), ([72.0], [], (72, 71, 73)), ([72.0], [False], (70, 71, 73))],
)
def test_nothing_unequal_or_out_of_order_is_refused(values, signals, lines):
    with pytest.raises(ValueError, match="lines in order"):
        individuals(values, signals, *lines)
