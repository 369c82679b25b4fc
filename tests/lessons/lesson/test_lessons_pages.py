"""Lessons: noted by a teacher, read by those who were there, in their own time zone."""

from __future__ import annotations

import datetime as dt

import pytest

from lessons.lesson.models import Lesson
from tests import factories as make


@pytest.fixture
def lesson(teacher, student) -> Lesson:
    at = dt.datetime(2026, 10, 5, 14, 30, tzinfo=dt.UTC)
    row = Lesson.objects.create(
        studio=teacher.studio, at=at, time_zone="Europe/Lisbon", held_by=teacher, notes="Long tones."
    )
    row.present.add(student)
    return row


def form(student, **changed):
    given = {
        "day": "2026-10-05",
        "time": "16:30",
        "time_zone": "Europe/Berlin",
        "present": [student.pk],
        "notes": "x",
    }
    return given | changed


def test_a_teacher_notes_a_lesson_at_its_own_clock(as_member, teacher, student):
    answer = as_member(teacher).post(teacher.to("lessons:lesson_new"), form(student))
    kept = Lesson.objects.get()
    assert answer.url == teacher.to("lessons:lesson", kept.pk)
    assert kept.at == dt.datetime(2026, 10, 5, 14, 30, tzinfo=dt.UTC)
    assert list(kept.present.all()) == [student]
    assert kept.held_by == teacher


def test_an_hour_that_does_not_exist_is_questioned_and_the_notes_stay(as_member, teacher, student):
    given = form(student, day="2026-03-29", time="02:30", notes="Keep these words.")
    answer = as_member(teacher).post(teacher.to("lessons:lesson_new"), given)
    assert answer.status_code == 422
    assert "Keep these words." in answer.text
    assert not Lesson.objects.exists()


@pytest.mark.parametrize(
    "changed", [{"day": ""}, {"day": "soon"}, {"time": "25:00"}, {"time_zone": "Mars/Olympus"}]
)
def test_what_is_no_time_is_questioned(as_member, teacher, student, changed):
    answer = as_member(teacher).post(teacher.to("lessons:lesson_new"), form(student, **changed))
    assert answer.status_code == 422
    assert 'class="errorlist"' in answer.text


def test_a_student_of_another_studio_cannot_be_present(as_member, teacher, student, stranger):
    elsewhere = make.student(studio=stranger.studio)
    answer = as_member(teacher).post(teacher.to("lessons:lesson_new"), form(student, present=[elsewhere.pk]))
    assert answer.status_code == 422


def test_those_who_were_there_read_it(as_member, student, lesson):
    page = as_member(student).get(student.to("lessons:lesson", lesson.pk)).text
    assert "Long tones." in page
    assert "15:30 (Europe/Lisbon)" in page


def test_a_fellow_student_who_was_not_there_does_not(as_member, other_student, lesson):
    client = as_member(other_student)
    assert client.get(other_student.to("lessons:lesson", lesson.pk)).status_code == 404
    assert "Lisbon" not in client.get(other_student.to("lessons:lessons")).text


def test_a_stranger_finds_no_lesson_here(as_member, stranger, lesson):
    assert as_member(stranger).get(stranger.to("lessons:lesson", lesson.pk)).status_code == 404


@pytest.mark.parametrize("name", ["lesson_edit", "lesson_remove"])
def test_a_student_changes_no_lesson(as_member, student, lesson, name):
    assert as_member(student).post(student.to(f"lessons:{name}", lesson.pk)).status_code == 404


def test_a_teacher_changes_it_and_the_form_shows_its_own_clock(as_member, teacher, student, lesson):
    client = as_member(teacher)
    address = teacher.to("lessons:lesson_edit", lesson.pk)
    assert 'value="15:30"' in client.get(address).text
    client.post(address, form(student, notes="Changed."))
    lesson.refresh_from_db()
    assert lesson.notes == "Changed."


def test_removing_is_a_post(as_member, teacher, lesson):
    client = as_member(teacher)
    address = teacher.to("lessons:lesson_remove", lesson.pk)
    assert client.get(address).status_code == 405
    client.post(address)
    assert not Lesson.objects.exists()


@pytest.mark.parametrize("lessons", [2, 8])
def test_the_list_asks_as_often_for_many_lessons(
    as_member, teacher, student, lessons, django_assert_max_num_queries
):
    for day in range(lessons):
        at = dt.datetime(2026, 9, 1 + day, tzinfo=dt.UTC)
        row = Lesson.objects.create(studio=teacher.studio, at=at, time_zone="UTC", held_by=teacher)
        row.present.add(student)
    client = as_member(teacher)
    with django_assert_max_num_queries(11):
        client.get(teacher.to("lessons:lessons"))
