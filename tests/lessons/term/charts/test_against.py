"""A quantity against the sheet's band, as places for a picture."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.term.charts.against import (
    HEIGHT,
    REACH,
    Where,
    against,
    band_places,
    in_half_bands,
    one_band,
)
from lessons.term.charts.frame import BOTTOM, LEFT, RIGHT, TOP, WIDTH
from tests.lessons.term.charts.make import FIRST, LAST, reading

VALUES = st.floats(0, 150)


@given(st.lists(st.tuples(VALUES, st.integers(0, 108), st.floats(0, 5)), max_size=30))
def test_every_dot_with_its_doubt_lies_inside_the_frame(rows):
    it = against([reading(v, FIRST + dt.timedelta(days=day), u) for v, day, u in rows], FIRST, LAST)
    assert len(it.dots) == len(rows)
    for dot in it.dots:
        assert LEFT <= dot.x <= WIDTH - RIGHT
        assert TOP <= dot.doubt_top <= dot.y <= dot.doubt_bottom <= HEIGHT - BOTTOM


@given(VALUES, VALUES, st.floats(0.1, 5), st.floats(0.1, 5))
def test_a_larger_number_never_stands_lower(a, b, below, above):
    band = (72.0 - below, 72.0, 72.0 + above)
    low, high = sorted((a, b))
    assert in_half_bands(low, band) <= in_half_bands(high, band)


@given(st.floats(-100, 100), st.floats(0.1, 5), st.floats(0.1, 5))
def test_limits_and_aim_stand_at_the_same_places_in_every_picture(aim, below, above):
    band = (aim - below, aim, aim + above)
    assert [in_half_bands(value, band) for value in band] == pytest.approx([-1, 0, 1])


@given(st.floats(-50, 50), st.floats(0.01, 25.0))
def test_another_unit_or_another_staple_changes_no_place(shift, factor):
    plain, moved = (
        against([reading(value, u=0.2 * k, limits=limits)], FIRST, LAST).dots[0]
        for value, k, limits in (
            (72.6, 1.0, (71.0, 72.0, 73.0)),
            (72.6 * factor + shift, factor, tuple(x * factor + shift for x in (71.0, 72.0, 73.0))),
        )
    )
    assert moved.y == pytest.approx(plain.y, abs=0.11)
    assert moved.doubt_top == pytest.approx(plain.doubt_top, abs=0.11)


@pytest.mark.parametrize(
    ("limits", "band"),
    [
        ((71.0, 72.0, 73.5), (71.0, 72.0, 73.5)),
        ((71.0, None, 73.0), (71.0, 72.0, 73.0)),
        ((None, 72.0, 73.0), (71.0, 72.0, 73.0)),
        ((0.5, 1.0, None), (0.5, 1.0, 1.5)),
        ((72.0, 72.0, 73.0), (71.0, 72.0, 73.0)),
        ((0.5, None, None), None),
        ((None, None, None), None),
        ((None, 72.0, None), None),
        ((72.0, 72.0, None), None),
    ],
)
def test_the_band_of_a_row_of_the_sheet(limits, band):
    assert band_places(*limits) == band


@pytest.mark.parametrize(
    ("value", "where"),
    [
        (72.0, Where.WITHIN),
        (73.0, Where.WITHIN),
        (73.1, Where.WITHOUT),
        (70.9, Where.WITHOUT),
        (72 + REACH + 0.1, Where.OVER),
        (72 - REACH - 0.1, Where.UNDER),
    ],
)
def test_each_place_has_its_own_shape(value, where):
    assert against([reading(value)], FIRST, LAST).dots[0].where == where


def test_a_side_without_a_limit_is_never_without():
    assert against([reading(1.9, limits=(0.5, 1.0, None))], FIRST, LAST).dots[0].where == Where.WITHIN


def test_what_has_no_band_is_counted_and_not_drawn():
    it = against([reading(1.0, limits=(0.5, None, None)), reading(72.0)], FIRST, LAST)
    assert (len(it.dots), it.left_out, it.within.count("M")) == (1, 1, 1)


def test_an_empty_picture_still_has_its_band():
    it = against([], FIRST, LAST)
    assert it.dots == ()
    assert it.high < it.aim < it.low


def test_the_order_of_the_rows_is_no_matter():
    rows = [reading(70.0, LAST), reading(74.0), reading(72.0, FIRST + dt.timedelta(days=9))]
    assert against(rows, FIRST, LAST) == against(rows[::-1], FIRST, LAST)


def test_one_band_is_told_only_where_all_share_it():
    assert one_band([reading(70), reading(71)]) == (71.0, 72.0, 73.0)
    assert one_band([reading(70), reading(71, limits=(72.0, 73.0, 74.0))]) is None
    assert one_band([]) is None


def test_a_term_that_ends_before_it_starts_is_refused():
    with pytest.raises(ValueError, match="end before it starts"):
        against([reading(72)], LAST, FIRST)
