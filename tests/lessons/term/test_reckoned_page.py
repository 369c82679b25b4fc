"""The folded tables of the term page: every share says of what, and what cannot be told is said."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.utils import timezone

from lessons.lesson.models import SetWork
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest
from reeds.reed.models.reed import ReedEvent
from tests import factories as make
from tests.folded import OF_STATISTICS, parted


@pytest.fixture
def term(teacher):
    today = make.today()
    ends = today + dt.timedelta(days=40)
    return make.TermFactory(studio=teacher.studio, starts_on=today - dt.timedelta(days=60), ends_on=ends)


def ago(days):
    return timezone.now() - dt.timedelta(days=days)


def lived(student, *, plays=True, days=30, **given):
    """A reed that was tied, came to play and, unless it plays, was played out ten days later."""
    steps = [("tied", days + 10), ("playing", days), *([] if plays else [("played_out", days - 10)])]
    reed = make.ReedFactory(owner=student, made_at=ago(days + 10), stage=steps[-1][0], **given)
    for stage, at in steps:
        ReedEvent.objects.create(studio=reed.studio, reed=reed, kind="stage", to_stage=stage, at=ago(at))
    return reed


def measured(reed, value, days=20, **given):
    usual = {"quantity": "tie_length", "value": value, "u": 0.2, "method": "ruler", "stage": "tied"}
    return Measurement.objects.create(studio=reed.studio, reed=reed, at=ago(days), **usual | given)


def tried(reed, speaks, days, **given):
    test = PlayingTest.objects.create(studio=reed.studio, reed=reed, at=ago(days), **given)
    test.ratings.create(studio=reed.studio, item="staccato", speaks=speaks)


def text_of(page):
    """What a person reads, on one line."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.text.split("How this is reckoned")[1]))


def read(as_member, who, *of):
    """The tables of one student's term, or the studio's, which have a page of their own."""
    return text_of(as_member(who).get(who.to("lessons:term_reckoned", *of)))


def test_yield_says_of_what_and_how_many_are_open(as_member, student, term):
    lived(student)
    lived(student)
    make.ReedFactory(owner=student, stage="given_up")
    make.ReedFactory(owner=student, stage="tied")
    text = read(as_member, student)
    assert "Came to play, of the reeds with an outcome: 2 of 3: 67 % (21 to 94)" in text
    assert "1 of the 4 made is still on its way and not counted." in text
    assert "(Wilson)" in text


def test_the_studios_yield_draws_students_anew_where_there_are_enough(as_member, teacher, term):
    students = [make.student(studio=teacher.studio) for _ in range(5)]
    for one in students:
        lived(one)
        make.ReedFactory(owner=one, stage="given_up")
    text = read(as_member, teacher)
    assert "5 of 10: 50 %" in text
    assert "its 5 students are drawn anew" in text
    assert "drawn anew" not in read(as_member, teacher, students[0].pk)


def test_how_long_they_play_has_a_median_and_steps(as_member, student, term):
    for _ in range(3):
        lived(student, plays=False)
    text = read(as_member, student)
    assert "Half have ended after 10 days" in text
    assert "3 reeds came to play, 3 of them have been played out or given up since." in text


def test_where_they_still_play_it_says_so(as_member, student, term):
    tried(lived(student), 4, days=8)
    text = read(as_member, student)
    assert "More than half still played when last seen, the longest after 22 days." in text
    assert "1 reed came to play, 0 of them" in text


def test_a_change_is_told_with_its_interval(as_member, student, term):
    for week in range(8):
        measured(lived(student), 72 + week / 4, days=56 - 7 * week)
    text = read(as_member, student)
    assert "tie length, mm off the aim 8 +0.9 (0.0 to +1.8) +0.25 (+0.25 to +0.25) rises " in text


def test_no_word_of_statistics_stands_there_unasked(as_member, student, teacher, term):
    for week in range(8):
        measured(lived(student, plays=week % 2), 73.5, days=56 - 7 * week, u=0.05, method="caliper")
    for who, *of in ((student,), (teacher,), (teacher, student.pk)):
        at_once, _folded = parted(as_member(who).get(who.to("lessons:term", *of)).text)
        assert not OF_STATISTICS.search(at_once), OF_STATISTICS.findall(at_once)
        assert OF_STATISTICS.search(read(as_member, who, *of))


def test_too_few_is_said(as_member, student, term):
    measured(lived(student), 72.5)
    assert "off the aim 1 +0.5, too few for an interval too few to tell" in read(as_member, student)


def test_all_equal_numbers_are_no_change(as_member, student, term):
    for week in range(8):
        measured(lived(student), 72.0, days=56 - 7 * week)
    text = read(as_member, student)
    assert "8 0.0 (0.0 to 0.0) 0.00 (0.00 to 0.00) Each reed counts once" in text


def test_player_and_teacher_and_the_two_tools(as_member, teacher, student, term):
    for k in range(5):
        reed = lived(student)
        measured(reed, 72.0, by=student)
        measured(reed, 72.3 + k / 10, by=teacher)
        measured(reed, 71.8, method="photo", by=student)
        tried(reed, 3, 5, by=student)
        tried(reed, 4, 4, by=teacher)
    text = read(as_member, teacher)
    assert "Teacher less player" in text
    assert "tie length, mm 5 +0.50 (+0.30 to +0.70)" in text
    assert "Photo less ruler or caliper" in text
    assert "staccato on one note 0 of 5: 0 % (0 to 43) 5 of 5: 100 % (57 to 100) +1.0 (+1.0 to +1.0)" in text


def test_nothing_read_twice_is_said(as_member, student, term):
    lived(student)
    assert "No reed was read twice in these weeks" in read(as_member, student)


def test_set_work_counts_of_what_was_due(as_member, student, term):
    def work(**given):
        SetWork.objects.create(studio=student.studio, student=student, words="blanks", set_at=ago(9), **given)

    lived(student)
    work(due_on=ago(3).date(), done_at=ago(5))
    work(due_on=ago(3).date())
    work()
    text = read(as_member, student)
    assert "Done, of what was due before today: 1 of 2: 50 %" in text
    assert "Not counted: 0 due today or later, 1 without a day." in text


def test_ratings_of_a_reed_taken_out_are_nowhere(as_member, student, term):
    tried(lived(student, taken_out_at=timezone.now()), 5, days=3)
    lived(student)
    assert "staccato" not in read(as_member, student)


def test_a_fellow_students_figures_are_not_among_ones_own(as_member, student, other_student, stranger, term):
    lived(student)
    for who in (other_student, make.student(studio=stranger.studio)):
        lived(who, plays=False)
    assert "1 of 1: 100 %" in read(as_member, student)
    assert as_member(student).get(student.to("lessons:term", other_student.pk)).status_code == 404
    assert as_member(stranger).get(stranger.to("lessons:term", student.pk)).status_code == 404
