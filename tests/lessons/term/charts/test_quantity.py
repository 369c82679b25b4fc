"""A quantity over a term by its own numbers, as places for a picture."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.term.charts.frame import BOTTOM, LEFT, RIGHT, TOP, WIDTH
from lessons.term.charts.quantity import HEIGHT, chart
from tests.lessons.term.charts.make import FIRST, LAST, reading


@given(st.lists(st.floats(60, 90), min_size=1, max_size=30))
def test_every_dot_with_its_doubt_lies_inside_the_frame(values):
    for dot in chart([reading(value) for value in values], FIRST, LAST).dots:
        assert LEFT <= dot.x <= WIDTH - RIGHT
        assert TOP <= dot.doubt_top <= dot.y <= dot.doubt_bottom <= HEIGHT - BOTTOM


def test_larger_numbers_stand_higher_and_later_ones_further_right():
    low, high = chart([reading(70), reading(74, LAST)], FIRST, LAST).dots
    assert high.y < low.y
    assert high.x > low.x


def test_one_exact_number_without_limits_still_has_a_frame():
    it = chart([reading(72.0, u=0.0, limits=(None, None, None))], FIRST, FIRST)
    assert it.dots[0].limit_top is None
    assert it.y_ticks


def test_equal_numbers_stand_at_one_height():
    it = chart([reading(0.6, u=0.0, limits=(None, None, None))] * 5, FIRST, LAST)
    assert len({dot.y for dot in it.dots}) == 1
    assert TOP < it.dots[0].y < HEIGHT - BOTTOM


def test_a_picture_of_nothing_is_refused():
    with pytest.raises(ValueError, match="needs a reading"):
        chart([], FIRST, LAST)


def test_a_term_that_ends_before_it_starts_is_refused():
    with pytest.raises(ValueError, match="end before it starts"):
        chart([reading(72)], LAST, FIRST)
