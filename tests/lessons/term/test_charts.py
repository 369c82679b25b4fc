"""A quantity over a term as places for a picture."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.term.charts import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH, chart, nice_step
from tests.lessons.term import make

FIRST, LAST = dt.date(2026, 9, 1), dt.date(2026, 12, 18)


def reading(value, day=FIRST):
    return make.reading(value, at=dt.datetime.combine(day, dt.time(12), dt.UTC))


@given(st.lists(st.floats(60, 90), min_size=1, max_size=30))
def test_every_dot_with_its_doubt_lies_inside_the_frame(values):
    for dot in chart([reading(value) for value in values], FIRST, LAST).dots:
        assert LEFT <= dot.x <= WIDTH - RIGHT
        assert TOP - 0.01 <= dot.doubt_top <= dot.y <= dot.doubt_bottom <= HEIGHT - BOTTOM + 0.01


def test_larger_numbers_stand_higher_and_later_ones_further_right():
    low, high = chart([reading(70), reading(74, LAST)], FIRST, LAST).dots
    assert high.y < low.y
    assert high.x > low.x


def test_one_exact_number_without_limits_still_has_a_frame():
    alone = make.reading(
        72.0, at=dt.datetime(2026, 9, 1, tzinfo=dt.UTC), u=0.0, low=None, aim=None, high=None
    )
    it = chart([alone], FIRST, FIRST)
    assert it.dots[0].limit_top is None
    assert it.y_ticks


def test_a_picture_of_nothing_is_refused():
    with pytest.raises(ValueError, match="needs a reading"):
        chart([], FIRST, LAST)


@pytest.mark.parametrize(("span", "step"), [(10, 2), (1, 0.2), (3.4, 1), (0.049, 0.01), (5, 1)])
def test_steps_are_one_two_or_five(span, step):
    assert nice_step(span) == pytest.approx(step)


def test_no_span_has_no_step():
    with pytest.raises(ValueError, match="longer than nothing"):
        nice_step(0)


def test_days_on_the_axis_lie_inside_the_term():
    assert all(FIRST <= tick.value <= LAST for tick in chart([reading(72)], FIRST, LAST).x_ticks)
