"""What the demo's finished term holds, against what is declared of it."""

from __future__ import annotations

import statistics
from collections import Counter

import pytest

from lessons.demo import truth
from lessons.demo.truth import MAKERS, STAYS, STEADIES, STOPS_LEAKING, TIES_LONG
from lessons.term.rows import TermRows
from tests import factories as make

BY_NAME = {maker.username: maker for maker in MAKERS}
hands = pytest.mark.parametrize("name", BY_NAME)


@pytest.fixture
def rows(finished):
    """The rows of one hand, or of all."""

    def told(name=None):
        student = finished.students[name] if name else None
        return TermRows(finished.term, finished.teacher, student)

    return told


def thirds(items):
    n = truth.REEDS_A_THIRD
    return [items[:n], items[n : 2 * n], items[2 * n : 3 * n]]


def off_aim(rows, key):
    return [one.value - one.aim for one in rows.readings[key] if not one.by_teacher]


def test_it_is_over_and_lies_before_the_term_of_today(finished):
    assert finished.term.ends_on < make.today()
    assert (finished.term.ends_on - finished.term.starts_on).days + 1 == truth.DAYS


@hands
def test_tie_length_and_thread_scatter_as_declared_and_only_one_hand_steadies(rows, name):
    maker = BY_NAME[name]
    for key, declared, about in (
        ("tie_length", maker.tie, maker.long),
        ("thread_past_staple", maker.thread, 0.0),
    ):
        for of_third, spread in zip(thirds(off_aim(rows(name), key)), declared, strict=True):
            assert statistics.stdev(of_third) == pytest.approx(spread, abs=0.02)
            assert statistics.mean(of_third) == pytest.approx(about, abs=0.02)
    assert (len(set(maker.tie)) > 1) is (maker is STEADIES)


def test_one_hand_ties_long_on_every_staple_and_the_others_on_none(rows):
    long = {maker.username for maker in MAKERS if maker.long}
    assert long == {TIES_LONG.username}
    reeds = {one.reed: one.staple_length for one in rows(TIES_LONG.username).reeds}
    by_staple = {staple: [] for staple in TIES_LONG.staples}
    for one in rows(TIES_LONG.username).readings["tie_length"]:
        by_staple[reeds[one.reed]].append(one.value - one.aim)
    assert [statistics.mean(off) for off in by_staple.values()] == pytest.approx([0.7] * 3, abs=0.1)


def test_rest_decides_in_one_lot_alone_and_no_hand_plays_more_than_another(rows):
    counted = Counter(
        (one.lot_label, one.rested_days > 7, one.outcome)
        for one in rows().reeds
        if one.rested_days is not None
    )
    hands = len(MAKERS)
    for lot in truth.LOTS:
        assert counted[lot.label, True, "played"] == hands * sum(lot.rested)
        assert counted[lot.label, False, "played"] == hands * sum(lot.fresh)
    assert [lot.is_helped_by_rest for lot in truth.LOTS] == [True, False]
    played = Counter(one.student for one in rows().reeds if one.outcome == "played")
    assert len(set(played.values())) == 1


def test_one_blank_of_each_hand_is_open(rows):
    assert Counter(one.outcome for one in rows().reeds)["open"] == truth.OPEN_EACH * len(MAKERS)


@hands
def test_leaks_end_in_the_middle_of_the_term_for_one_hand(rows, name):
    maker, its = BY_NAME[name], rows(name)
    place = {one.reed: at for at, one in enumerate(its.reeds)}
    leaks = [place[one.reed] for one in its.found if one.about == "airtight"]
    a_sixth = truth.THIRDS * truth.REEDS_A_THIRD // len(maker.leaks)
    assert [sum(at // a_sixth == sixth for at in leaks) for sixth in range(6)] == list(maker.leaks)
    ended = sum(maker.leaks[:3]) >= 3 and not sum(maker.leaks[3:])
    assert ended is (maker is STOPS_LEAKING)


@hands
def test_each_reed_that_played_lasts_as_declared_and_the_last_ones_still_play(rows, name):
    lives = rows(name).lives
    played = sum(sum(lot.rested) + sum(lot.fresh) for lot in truth.LOTS)
    assert len(lives) == played
    known = sorted((one.ended_at - one.played_from).days for one in lives if one.ended_at)
    n = played - truth.STILL_PLAYING
    assert known == sorted(truth.LIVES_DAYS[at % len(truth.LIVES_DAYS)] for at in range(n))
    censored = [one for one in lives if one.ended_at is None]
    assert len(censored) == truth.STILL_PLAYING
    assert max(one.played_from for one in lives) in {one.played_from for one in censored}


@hands
def test_so_many_sets_of_work_were_done(rows, name):
    work = rows(name).work
    assert len(work) == truth.WORK_SET
    assert sum(one.done_at is not None for one in work) == BY_NAME[name].work_done


def test_every_round_was_answered_and_read(finished, rows):
    assert len(rows().waits) == truth.REEDS_EACH * len(MAKERS)
    assert {one.days for one in rows().waits if one.days is None} == set()
    assert max(one.days for one in rows().waits) < 3


def test_student_and_teacher_measure_and_rate_alike(rows):
    own = {one.reed: one.value for one in rows().readings["tie_length"] if not one.by_teacher}
    off = [one.value - own[one.reed] for one in rows().readings["tie_length"] if one.by_teacher]
    assert len(off) >= 30
    assert statistics.mean(off) == pytest.approx(0.0, abs=0.01)
    assert statistics.stdev(off) == pytest.approx(0.04, abs=0.01)
    assert {one.by_teacher for one in rows().rated} == {True, False}


def test_the_steady_hand_is_declared_and_the_other_is_not():
    assert STEADIES.tie[0] >= 2 * STEADIES.tie[2]
    assert STEADIES.thread[0] >= 2 * STEADIES.thread[2]
    assert len(set(STAYS.tie)) == len(set(STAYS.thread)) == 1
