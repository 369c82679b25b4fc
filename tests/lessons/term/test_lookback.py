"""The figures of a term from plain rows."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.term.lookback.figures import answers, found, reached
from lessons.term.lookback.rates import share
from lessons.term.lookback.rows import Wait
from lessons.term.lookback.spread import spread
from tests.lessons.term.make import NOON, finding


@given(st.integers(0, 200).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_a_share_lies_inside_its_interval(pair):
    count, n = pair
    it = share(count, n)
    assert 0 <= it.low <= (it.value if n else 0.5) + 1e-12
    assert (it.value if n else 0.5) - 1e-12 <= it.high <= 1


def test_nothing_counted_says_nothing():
    assert share(0, 0).value is None
    assert (share(0, 0).low, share(0, 0).high) == (0, 1)


@pytest.mark.parametrize(("count", "n"), [(-1, 3), (4, 3), (1, 0)])
def test_a_share_of_more_than_all_is_refused(count, n):
    with pytest.raises(ValueError, match="not more than all"):
        share(count, n)


def test_a_reed_counts_at_every_stage_up_to_its_furthest():
    counts = dict(reached(["tied", "playing", "cane"], ["cane", "tied", "scraped", "playing"]))
    assert [counts[s].count for s in ("cane", "tied", "scraped", "playing")] == [3, 2, 1, 1]
    assert all(counts[s].n == 3 for s in counts)


def test_an_unknown_stage_is_refused():
    with pytest.raises(ValueError, match="not in list"):
        reached(["varnished"], ["cane", "tied"])


def test_the_same_finding_in_three_rounds_of_a_reed_counts_once():
    rows = found([finding(1), finding(1), finding(1), finding(3)], {1, 2, 3})
    assert [(row.about, row.outcome) for row in rows] == [("tie_length", "above")]
    assert (rows[0].share.count, rows[0].share.n) == (2, 3)


def test_the_most_frequent_finding_comes_first():
    rows = found([finding(1, "a"), finding(1, "b", "below"), finding(2, "b", "below")], {1, 2})
    assert [row.about for row in rows] == ["b", "a"]


def test_rounds_that_wait_are_counted_apart():
    waits = [Wait(1, NOON, NOON + dt.timedelta(days=d)) for d in (1, 2, 6)] + [Wait(1, NOON, None)]
    it = answers(waits)
    assert (it.days.n, it.days.median, it.waiting) == (3, 2.0, 1)


def test_no_numbers_have_no_median():
    assert spread([]).median is None


def test_a_number_that_is_not_finite_is_refused():
    with pytest.raises(ValueError, match="finite"):
        spread([1.0, float("nan")])
