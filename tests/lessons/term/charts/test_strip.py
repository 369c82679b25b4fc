"""Findings in time, as places for a picture."""

from __future__ import annotations

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from lessons.term.charts.frame import RIGHT, WIDTH
from lessons.term.charts.strip import LEFT, strip
from tests.lessons.term.charts.make import FIRST, LAST, found, noon

ROWS = st.builds(
    found, st.integers(1, 6), st.integers(0, 108), st.sampled_from(["tie_length", "airtight", "slip"])
)


@given(st.lists(ROWS, max_size=25), st.randoms())
def test_marks_lie_inside_the_frame_in_time_and_rows_in_any_order_give_the_same(rows, random):
    it = strip(rows, [row.at for row in rows], FIRST, LAST)
    for row in it.rows:
        places = [mark.x for mark in row.marks]
        assert places == sorted(places)
        assert all(LEFT <= x <= WIDTH - RIGHT for x in places)
        assert set(places) <= set(it.rounds)
    assert sum(not mark.again for row in it.rows for mark in row.marks) == sum(row.reeds for row in it.rows)
    shuffled = list(rows)
    random.shuffle(shuffled)
    assert strip(shuffled, [row.at for row in shuffled], FIRST, LAST) == it


def test_what_was_found_on_more_reeds_stands_higher_and_once_stands_apart():
    it = strip([found(1, 3, "slip"), found(2, 9), found(3, 12)], [], FIRST, LAST)
    assert [(row.about, row.reeds) for row in it.returning] == [("tie_length", 2)]
    assert [row.about for row in it.single] == ["slip"]


def test_the_same_reed_again_is_told_apart_and_counts_once():
    (row,) = strip([found(1, 3), found(1, 9), found(2, 9)], [], FIRST, LAST).rows
    assert [mark.again for mark in row.marks] == [False, True, False]
    assert row.reeds == 2


def test_the_same_kind_twice_in_one_round_is_one_mark():
    (row,) = strip([found(1, 3), found(1, 3)], [], FIRST, LAST).rows
    assert len(row.marks) == 1


def test_a_term_without_findings_still_shows_what_was_sent():
    it = strip([], [noon(FIRST), noon(LAST), noon(LAST)], FIRST, LAST)
    assert it.rows == ()
    assert len(it.rounds) == 2
    assert it.rounds[0] < it.rounds[1]


def test_above_and_below_are_two_findings():
    it = strip([found(1, 1), found(2, 2, outcome="below")], [], FIRST, FIRST + dt.timedelta(days=9))
    assert {row.outcome for row in it.rows} == {"above", "below"}
