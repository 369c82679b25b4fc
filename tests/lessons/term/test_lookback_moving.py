"""Trends: what moves, what does not, and what must change nothing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.term.lookback.moving import moving, ratings_moving
from lessons.term.lookback.trend import trend
from tests.lessons.term.make import day, rated, reading

DAYS = np.arange(12.0)


def test_a_line_has_its_own_slope():
    it = trend(DAYS, 3 + 0.5 * DAYS)
    assert (it.n, it.slope, it.interval) == (12, 0.5, (0.5, 0.5))
    assert it.is_told


def test_what_stands_still_has_no_slope_and_is_no_trend():
    it = trend(DAYS, np.full(12, 72.0))
    assert (it.slope, it.interval, it.p, it.is_told) == (0, (0, 0), 1, False)


@pytest.mark.parametrize("many", [0, 1, 5])
def test_too_few_say_nothing(many):
    it = trend(DAYS[:many], DAYS[:many])
    assert (it.n, it.slope, it.interval, it.p, it.is_told) == (many, None, None, None, False)


def test_numbers_of_one_moment_say_nothing():
    assert trend(np.zeros(9), np.arange(9.0)).slope is None


def test_students_are_compared_with_themselves_alone():
    """Each falls; the one who came later simply ties longer."""
    days, values = np.r_[0:8, 20:28], np.r_[np.arange(8, 0, -1), 30 + np.arange(8, 0, -1)]
    assert trend(days, values).slope > 0
    within = trend(days, values, np.repeat([1, 2], 8))
    assert (within.slope, within.interval) == (-1, (-1, -1))


def test_students_with_one_reed_each_say_nothing():
    assert trend(DAYS, DAYS, range(12)).slope is None


@pytest.mark.parametrize(
    ("days", "values"), [([1, 2], [1]), ([np.nan] * 8, range(8)), (range(8), [np.inf] * 8)]
)
def test_what_cannot_be_compared_is_refused(days, values):
    with pytest.raises(ValueError, match="as many finite times"):
        trend(days, values)


def test_without_any_trend_one_is_told_in_twenty_at_most():
    rng = np.random.default_rng(5)
    told = [trend(np.arange(n), rng.normal(size=n).round(1)).is_told for n in (8, 12, 25) for _ in range(800)]
    assert sum(told) / len(told) <= 0.05


numbers = st.lists(st.tuples(st.integers(0, 60), st.integers(-20, 20), st.integers(1, 3)), max_size=25)


@given(numbers, st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(rows, random):
    mixed = random.sample(rows, len(rows))
    assert trend(*columns(rows)) == trend(*columns(mixed))


@given(numbers, st.sampled_from([0.25, 0.5, 2.0, 1024.0]), st.integers(-500, 500))
def test_a_unit_or_a_beginning_of_time_changes_the_slope_alone(rows, unit, since):
    days, values, groups = columns(rows)
    one, other = trend(days, values, groups), trend([d * unit + since for d in days], values, groups)
    assert (one.n, one.p) == (other.n, other.p)
    if one.slope is not None:
        assert other.slope == pytest.approx(one.slope / unit)
        assert other.interval == pytest.approx(one.interval.times(1 / unit))


@given(numbers)
def test_what_mirrors_the_numbers_mirrors_the_trend(rows):
    days, values, groups = columns(rows)
    one, other = trend(days, values, groups), trend(days, [-v for v in values], groups)
    assert one.p == other.p
    if one.slope is not None:
        assert other.slope == pytest.approx(-one.slope)


@given(numbers)
def test_another_student_with_one_number_changes_no_slope(rows):
    days, values, groups = columns(rows)
    one, other = trend(days, values, groups), trend([*days, 30], [*values, 99], [*groups, 7])
    if one.slope is not None:
        assert (other.slope, other.p) == (one.slope, one.p)


def columns(rows):
    return [list(column) for column in zip(*rows, strict=True)] if rows else ([], [], [])


def test_a_reed_counts_once_with_its_last_number_off_its_own_aim():
    rows = [reading(72 + pk, reed=pk, at=day(pk), aim=70 + pk) for pk in range(8)]
    it = moving([*rows, reading(99, reed=3, at=day(1), aim=72)])
    assert (it.off_aim, it.middle.n, it.middle.median, it.trend.slope) == (True, 8, 2, 0)


def test_the_distance_from_the_aim_leaves_out_readings_without_one():
    it = moving([reading(72.5, reed=1), reading(9.0, reed=2, low=8, aim=None, high=None)])
    assert (it.off_aim, it.middle.n, it.middle.median) == (True, 1, 0.5)


def test_without_any_aim_numbers_count_as_read():
    rows = [reading(9, reed=pk, aim=None) for pk in range(3)]
    it = moving([*rows, reading(5, reed=1, at=day(2), aim=None)])
    assert (it.off_aim, it.middle.n, it.middle.median) == (False, 3, 9)


def test_no_readings_say_nothing():
    assert moving([]).middle.median is None


def test_ratings_move_as_their_players_rated_them():
    own = [rated(1 + pk // 2, reed=pk, at=day(pk)) for pk in range(8)]
    teacher = [rated(5, reed=pk, at=day(20), by_teacher=True) for pk in range(8)]
    it = ratings_moving([*own, *teacher, rated(None, reed=3, item="staccato")])
    assert list(it) == ["crow"]
    assert (it["crow"].middle.median, it["crow"].trend.is_told) == (2.5, True)


told = st.tuples(st.integers(1, 6), st.integers(0, 5), st.integers(60, 80))


@given(st.lists(told, max_size=20), st.randoms(use_true_random=False))
def test_the_order_of_readings_changes_nothing(rows, random):
    readings = [reading(value, reed=pk, at=day(at), student=pk % 2) for pk, at, value in rows]
    assert moving(readings) == moving(random.sample(readings, len(readings)))
