"""From the database to the plain rows of a term: what counts, for whom, and in how few queries."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from lessons.lesson.models import SetWork
from lessons.term.rows import TermRows
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest
from reeds.reed.models.reed import ReedEvent
from reeds.sheet.models.pattern import Offset
from tests import factories as make

ALL = ("reeds", "lives", "readings", "noted", "rated", "found", "waits", "sent", "work")


@pytest.fixture
def term(teacher):
    today = make.today()
    ends = today + dt.timedelta(days=40)
    return make.TermFactory(studio=teacher.studio, starts_on=today - dt.timedelta(days=60), ends_on=ends)


def ago(days):
    return timezone.now() - dt.timedelta(days=days)


def measured(reed, value=72.4, **given):
    usual = {"quantity": "tie_length", "value": value, "u": 0.2, "method": "ruler", "stage": "tied"}
    return Measurement.objects.create(studio=reed.studio, reed=reed, **usual | given)


def stepped(reed, days, to_stage="", kind="stage"):
    return ReedEvent.objects.create(studio=reed.studio, reed=reed, kind=kind, to_stage=to_stage, at=ago(days))


def tried(reed, speaks=4, days=1, **given):
    test = PlayingTest.objects.create(studio=reed.studio, reed=reed, at=ago(days), **given)
    test.ratings.create(studio=reed.studio, item="crow", speaks=speaks)
    return test


def full(student, **given):
    """A reed with one row of every kind hanging on it."""
    reed = make.ReedFactory(owner=student, **given)
    measured(reed)
    measured(reed, None, u=None, word="half", quantity="fold_cut", method="eye")
    stepped(reed, 20, "tied")
    stepped(reed, 10, "playing")
    tried(reed)
    finding = {"check": "limits", "outcome": "above", "quantity": "tie_length"}
    make.SubmissionFactory(reed=reed, sent_at=ago(1), findings=[finding, {"check": "x", "outcome": "within"}])
    return reed


def test_each_kind_of_row_tells_of_its_reed(teacher, student, term):
    reed = full(student)
    rows = TermRows(term, teacher)
    assert [(r.reed, r.number, r.student) for r in rows.reeds] == [(reed.pk, reed.number, student.pk)]
    for kind in (rows.lives, rows.rated, rows.found, rows.readings["tie_length"]):
        assert [(r.reed, r.number, r.student) for r in kind] == [(reed.pk, reed.number, student.pk)]
    assert (rows.sent, len(rows.waits)) == ({reed.pk}, 1)
    assert [(f.about, f.outcome) for f in rows.found] == [("tie_length", "above")]


@pytest.mark.parametrize("left_out", [{"is_model": True}, {"taken_out_at": timezone.now()}])
def test_model_reeds_and_reeds_taken_out_are_nowhere(teacher, student, term, left_out):
    full(student, **left_out)
    rows = TermRows(term, teacher)
    assert not any(getattr(rows, kind) for kind in ALL)


def test_a_student_and_another_studio_count_apart(teacher, student, other_student, stranger, term):
    mine = full(student)
    full(other_student)
    theirs = full(make.student(studio=stranger.studio))
    assert [r.reed for r in TermRows(term, teacher, student).rated] == [mine.pk]
    assert [r.reed for r in TermRows(term, student, student).reeds] == [mine.pk]
    assert len(TermRows(term, teacher).reeds) == 2
    assert [r.reed for r in TermRows(term, stranger).reeds] == [theirs.pk]


def test_a_student_who_asks_for_all_gets_their_own(student, other_student, term):
    full(other_student)
    mine = full(student)
    rows = TermRows(term, student)
    assert {r.reed for r in (*rows.reeds, *rows.rated, *rows.found, *rows.readings["tie_length"])} == {
        mine.pk
    }


def test_a_number_stands_beside_the_limits_of_its_own_sheet_moved_by_its_players_offset(
    teacher, student, other_student, term
):
    Offset.objects.create(studio=student.studio, student=student, quantity="tie_length", delta=1.0)
    for who in (student, other_student):
        measured(make.ReedFactory(owner=who))
    moved, plain = TermRows(term, teacher).readings["tie_length"]
    assert (plain.low, plain.aim, plain.high) == (71.0, 72.0, 73.0)
    assert (moved.low, moved.aim, moved.high) == (72.0, 73.0, 74.0)


def test_what_the_teacher_measured_or_tried_is_told_apart(teacher, student, term):
    reed = make.ReedFactory(owner=student)
    for by in (student, teacher, None):
        measured(reed, by=by)
        tried(reed, by=by)
    rows = TermRows(term, teacher)
    assert sorted(r.by_teacher for r in rows.readings["tie_length"]) == [False, False, True]
    assert sorted(r.by_teacher for r in rows.rated) == [False, False, True]


@pytest.mark.parametrize(
    ("steps", "stage", "furthest", "outcome"),
    [
        (["tied", "playing", "given_up"], "given_up", "playing", "played"),
        (["tied", "given_up"], "given_up", "tied", "given_up"),
        (["tied"], "tied", "tied", "open"),
        ([], "played_out", "played_out", "played"),
        ([], "given_up", "cane", "given_up"),
    ],
)
def test_what_became_of_a_reed(teacher, student, term, steps, stage, furthest, outcome):
    reed = make.ReedFactory(owner=student, stage=stage)
    for days, step in enumerate(reversed(steps), 1):
        stepped(reed, days, step)
    (row,) = TermRows(term, teacher).reeds
    assert (row.furthest, row.outcome) == (furthest, outcome)


def test_a_step_taken_back_never_was(teacher, student, term):
    reed = make.ReedFactory(owner=student, stage="tied")
    ReedEvent.objects.filter(pk=stepped(reed, 1, "playing").pk).update(taken_back_at=timezone.now())
    assert TermRows(term, teacher).reeds[0].outcome == "open"


def test_a_rest_runs_from_tied_to_first_scraped(teacher, student, term):
    reed = make.ReedFactory(owner=student, stage="scraped")
    for days, step in ((20, "tied"), (18, "bound"), (6, "scraped"), (2, "finishing")):
        stepped(reed, days, step)
    make.ReedFactory(owner=student)
    rested, never = (row.rested_days for row in TermRows(term, teacher).reeds)
    assert rested == pytest.approx(14, abs=0.01)
    assert never is None


def test_a_life_begins_with_playing_and_ends_with_played_out(teacher, student, term):
    over, still = (make.ReedFactory(owner=student, stage=stage) for stage in ("played_out", "playing"))
    for days, step in ((20, "playing"), (5, "played_out")):
        stepped(over, days, step)
    stepped(still, 12, "playing")
    stepped(still, 9, kind="played")
    tried(still, days=3)
    ended, plays = TermRows(term, teacher).lives
    assert (ended.ended_at - ended.played_from).days == 15
    assert plays.ended_at is None
    assert (plays.played_last - plays.played_from).days == 9
    assert plays.days_played == 3


def test_a_reed_taken_up_again_still_plays(teacher, student, term):
    reed = make.ReedFactory(owner=student, stage="playing")
    for days, step in ((20, "playing"), (9, "played_out"), (5, "playing")):
        stepped(reed, days, step)
    (life,) = TermRows(term, teacher).lives
    assert life.ended_at is None
    assert (life.played_last - life.played_from).days == 15


def test_work_counts_if_it_was_set_or_due_in_the_term(teacher, student, term):
    SetWork.objects.create(studio=student.studio, student=student, words="three blanks", set_at=ago(3))
    SetWork.objects.create(
        studio=student.studio, student=student, words="due", set_at=ago(90), due_on=ago(2).date()
    )
    SetWork.objects.create(studio=student.studio, student=student, words="long ago", set_at=ago(90))
    assert len(TermRows(term, teacher).work) == 2
    assert len(TermRows(term, student, student).work) == 2
    assert TermRows(term, teacher, teacher).work == []


def test_times_carry_the_studios_zone(teacher, student, term):
    term.studio.time_zone = "Pacific/Auckland"
    full(student)
    rows = TermRows(term, teacher)
    times = [rows.reeds[0].made_at, rows.lives[0].played_from, rows.rated[0].at, rows.waits[0].sent_at]
    assert {at.tzinfo.key for at in times} == {"Pacific/Auckland"}


def test_two_terms_that_overlap_each_count_what_is_theirs(teacher, student, term):
    other = make.TermFactory(
        studio=teacher.studio, starts_on=ago(5).date(), ends_on=term.ends_on + dt.timedelta(days=9)
    )
    full(student, made_at=ago(30))
    assert [len(TermRows(one, teacher).reeds) for one in (term, other)] == [1, 0]
    assert [len(TermRows(one, teacher).rated) for one in (term, other)] == [1, 1]


@pytest.mark.parametrize("reeds", [1, 7])
def test_the_queries_are_few_however_many_reeds_there_are(
    teacher, student, term, reeds, django_assert_max_num_queries
):
    for _ in range(reeds):
        full(student)
    with django_assert_max_num_queries(11):
        rows = TermRows(term, teacher)
        assert all(getattr(rows, kind) for kind in ALL if kind != "work")
        assert rows.work == []
