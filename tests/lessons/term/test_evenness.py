"""Evenness of a hand, what it usually does, and what comes back: from plain numbers."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.term.lookback.control import usual
from lessons.term.lookback.evenness import evenness, in_thirds, kurtosis, spreading
from lessons.term.lookback.recurrence import SentInTerm, recurring, third_at
from lessons.term.lookback.rows import FoundInTerm

START = dt.datetime(2026, 9, 1, tzinfo=dt.UTC)
END = dt.datetime(2026, 12, 1, tzinfo=dt.UTC)
LEAK = ("airtight", "differs")


def test_a_spread_without_doubt_is_the_standard_deviation():
    it = spreading([1.0, 2.0, 3.0, 4.0], [0.0] * 4)
    assert it.own == it.seen == pytest.approx(np.std([1, 2, 3, 4], ddof=1))
    assert 0 < it.low < it.own < it.high


def test_the_doubt_of_measuring_is_taken_out_of_the_variance():
    it = spreading([-0.5, 0.5, -0.5, 0.5], [0.4] * 4)
    assert it.own == pytest.approx(np.sqrt(1 / 3 - 0.16))
    assert it.own < it.seen


def test_where_doubt_is_as_large_as_all_that_is_seen_one_cannot_tell():
    it = spreading([0.0, 0.1, 0.0, -0.1], [0.2] * 4)
    assert not it.can_tell
    assert it.own is None
    assert it.low == 0.0
    assert 0 < it.high < 1


def test_the_first_third_stands_against_the_last():
    it = evenness([1.5, -1.5, 1.0, 0, 0, 0, 0.4, -0.4, 0.2], [0.1] * 9)
    assert it.first.own > 3 * it.last.own
    assert it.can_tell
    assert (it.first.n, it.last.n) == (3, 3)


def test_with_eight_reeds_there_are_no_thirds():
    assert evenness([0.0] * 8, [0.1] * 8) is None


def test_each_number_needs_its_doubt():
    with pytest.raises(ValueError, match="its doubt"):
        evenness([0.0] * 9, [0.1] * 8)


def test_numbers_all_equal_have_no_spread_and_no_heavy_tails():
    assert kurtosis([[0.0] * 12]) == 3.0
    assert spreading([0.0] * 5, [0.0] * 5).own is None


@given(st.lists(st.floats(-3, 3), min_size=4, max_size=30), st.floats(-50, 50))
def test_where_the_aim_lies_changes_no_spread(values, moved):
    row, u = [value + moved for value in values], [0.1] * len(values)
    assert spreading(row, u).seen == pytest.approx(spreading(values, u).seen, abs=1e-9)


@given(st.integers(3, 60))
def test_thirds_differ_by_one_at_most(n):
    thirds = in_thirds(range(n))
    assert [one for third in thirds for one in third] == list(range(n))
    counts = [len(third) for third in thirds]
    assert max(counts) - min(counts) <= 1


def test_heavy_tails_make_the_interval_wider():
    row, u = [-1.0, 0.0, 0.5, 1.0, -0.5], [0.0] * 5
    normal, heavy = spreading(row, u, 3.0), spreading(row, u, 6.0)
    assert heavy.high - heavy.low > normal.high - normal.low


def test_a_reed_far_from_its_neighbours_lies_outside_what_is_usual():
    it = usual([72.0, 72.5, 72.0, 71.5, 72.0, 72.5, 76.0, 72.0, 72.0, 71.5, 72.0, 72.5, 72.0, 72.0])
    assert it.outside == (6,)


def test_of_seven_reeds_nothing_is_usual_yet():
    assert usual([72.0] * 7) is None
    assert usual([72.0] * 8).outside == ()


def sent(*days):
    return [SentInTerm(number, 1, START + dt.timedelta(days=day)) for number, day in enumerate(days)]


def with_it(*reeds, kind=LEAK):
    return [FoundInTerm(reed, reed, 1, START, *kind) for reed in reeds]


def test_the_most_frequent_comes_first_and_shares_add_up():
    rows = recurring(
        with_it(0, 1, 2) + with_it(5, kind=("tie_length", "above")), sent(1, 2, 40, 41, 80, 81), START, END
    )
    assert [row.about for row in rows] == ["airtight", "tie_length"]
    assert [row.so_far for row in rows] == [pytest.approx(0.75), 1.0]
    assert (rows[0].share.count, rows[0].share.n) == (3, 6)
    assert rows[0].thirds == (2, 1, 0)
    assert rows[0].sent == (2, 2, 2)
    assert rows[0].ended
    assert rows[0].came_back
    assert not rows[1].ended


def test_a_reed_with_the_same_finding_in_three_rounds_counts_once():
    (row,) = recurring(with_it(0, 0, 0), sent(1, 2), START, END)
    assert row.share.count == 1


def test_nothing_has_ended_where_no_reed_was_sent_in_the_last_third():
    (row,) = recurring(with_it(0, 1), sent(1, 2), START, END)
    assert not row.ended


def test_findings_of_reeds_that_were_not_sent_are_left_out():
    assert recurring(with_it(7), sent(1), START, END) == []


def test_a_moment_outside_the_term_falls_into_its_first_or_last_third():
    assert third_at(START - dt.timedelta(days=9), START, END) == 0
    assert third_at(END + dt.timedelta(days=9), START, END) == 2


@given(st.permutations(range(6)))
def test_shuffled_rows_give_the_same_list(order):
    found, reeds = with_it(0, 3, 4) + with_it(1, kind=("closing", "differs")), sent(1, 20, 40, 60, 80, 85)
    shuffled = recurring(
        sorted(found, key=lambda row: order[row.reed]), [reeds[i] for i in order], START, END
    )
    assert shuffled == recurring(found, reeds, START, END)
