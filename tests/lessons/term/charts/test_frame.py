"""The frame of all pictures: its scale and what stands on its axes."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.term.charts.frame import (
    LEFT,
    MOST_DAYS,
    RIGHT,
    WIDTH,
    Scale,
    across_term,
    day_of,
    day_ticks,
    nice_step,
    upright,
    value_ticks,
)

DAYS = st.dates(dt.date(1990, 1, 1), dt.date(2090, 1, 1))


@pytest.mark.parametrize(("span", "step"), [(10, 2), (1, 0.2), (3.4, 1), (0.049, 0.01), (5, 1)])
def test_steps_are_one_two_or_five(span, step):
    assert nice_step(span) == pytest.approx(step)


def test_no_span_has_no_step():
    with pytest.raises(ValueError, match="longer than nothing"):
        nice_step(0)


def test_a_value_beyond_is_kept_at_the_edge():
    scale = Scale(0, 10, 100, 0)
    assert (scale.kept(-5), scale.kept(5), scale.kept(11)) == (100, 50, 0)


@given(DAYS, st.integers(0, 30_000))
def test_a_few_days_stand_on_the_axis_inside_the_term_and_the_frame(first, length):
    last = first + dt.timedelta(days=length)
    ticks = day_ticks(across_term(first, last))
    assert len(ticks) <= MOST_DAYS
    assert all(first <= tick.day <= last and LEFT <= tick.at <= WIDTH - RIGHT for tick in ticks)
    # '28 Nov' and 'Nov 2026' take 50 units at most, 'Nov' 40: nothing is written over another
    gaps = [(b.at - a.at, 40 if a.form == "M" else 50) for a, b in pairwise(ticks)]
    assert all(gap >= room for gap, room in gaps), gaps


@pytest.mark.parametrize(
    ("first", "last", "days", "form"),
    [
        (dt.date(2026, 9, 7), dt.date(2026, 12, 18), ["2026-10-01", "2026-11-01"], "M"),
        (dt.date(2026, 9, 1), dt.date(2026, 9, 14), ["2026-09-01", "2026-09-08"], "j M"),
        (dt.date(2020, 1, 1), dt.date(2039, 12, 31), ["2020-01-01", "2025-01-01"], "Y"),
    ],
)
def test_a_term_is_marked_by_weeks_months_or_years(first, last, days, form):
    ticks = day_ticks(across_term(first, last))
    assert [tick.day.isoformat() for tick in ticks][:2] == days
    assert {tick.form for tick in ticks} == {form}


def test_a_moment_lies_in_its_day_by_its_own_zone():
    late = dt.datetime(2026, 9, 1, 23, 30, tzinfo=dt.timezone(dt.timedelta(hours=-9)))
    assert day_of(late) == dt.date(2026, 9, 1).toordinal() + 23.5 / 24


@given(st.floats(-1e3, 1e3), st.floats(0, 1e3))
def test_round_values_stand_inside_the_upright_axis(low, span):
    up = upright(low, low + span, 150.0)
    assert all(up.low - 1e-9 <= tick.value <= up.high + 1e-9 for tick in value_ticks(up))
