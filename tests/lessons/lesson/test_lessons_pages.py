"""Lessons: noted by a teacher, read by those who were there, in their own time zone."""

from __future__ import annotations

import datetime as dt
import re
import uuid

import pytest

from lessons.lesson import actions
from lessons.lesson.models import Lesson
from studio.models import Studio
from studio.time_zones import places
from tests import factories as make


@pytest.fixture
def lesson(teacher, student) -> Lesson:
    at = dt.datetime(2026, 10, 5, 14, 30, tzinfo=dt.UTC)
    row = Lesson.objects.create(studio=teacher.studio, at=at, time_zone="Europe/Lisbon", held_by=teacher)
    row.present.add(student)
    actions.add_note(row, teacher, "Long tones.", uuid.uuid4())
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


def chosen_zone(page):
    return re.search(r'<option value="([^"]+)" selected>', page)[1]


def test_a_new_lesson_begins_with_the_studios_own_zone(as_member, teacher):
    Studio.objects.filter(pk=teacher.studio_id).update(time_zone="America/New_York")
    page = as_member(teacher).get(teacher.to("lessons:lesson_new")).text
    assert chosen_zone(page) == "America/New_York"


def test_a_lesson_keeps_its_own_zone_though_it_be_no_place(as_member, teacher, lesson):
    for zone in ("Europe/Lisbon", "UTC"):
        Lesson.objects.update(time_zone=zone)
        page = as_member(teacher).get(teacher.to("lessons:lesson_edit", lesson.pk)).text
        assert chosen_zone(page) == zone


def test_only_places_are_in_the_list():
    zones = [zone for zone, _shown in places()]
    assert {"Europe/Berlin", "America/Argentina/Buenos_Aires", "Pacific/Auckland"} <= set(zones)
    assert all("/" in zone for zone in zones)
    assert not [zone for zone in zones if zone.startswith(("Etc/", "posix/", "right/", "SystemV/", "US/"))]


def test_a_weekly_lesson_stands_on_the_same_clock_until_its_last_day(as_member, teacher, student):
    given = form(student, day="2026-10-12", time="16:30", until="2026-11-03")
    answer = as_member(teacher).post(teacher.to("lessons:lesson_new"), given)
    rows = list(Lesson.objects.order_by("at"))
    assert answer.url == teacher.to("lessons:lesson", rows[0].pk)
    assert [row.local.isoformat() for row in rows] == [
        "2026-10-12T16:30:00+02:00",
        "2026-10-19T16:30:00+02:00",
        "2026-10-26T16:30:00+01:00",
        "2026-11-02T16:30:00+01:00",
    ]
    assert [list(row.notes.values_list("words", "by")) for row in rows] == [[("x", teacher.pk)], [], [], []]
    assert all(list(row.present.all()) == [student] for row in rows)


@pytest.mark.parametrize("until", ["2026-10-04", "2029-01-01"])
def test_a_last_day_before_the_first_or_years_off_is_questioned(as_member, teacher, student, until):
    answer = as_member(teacher).post(teacher.to("lessons:lesson_new"), form(student, until=until))
    assert answer.status_code == 422
    assert "within sixty weeks" in answer.text
    assert not Lesson.objects.exists()


def test_a_lesson_that_is_changed_is_not_repeated(as_member, teacher, student, lesson):
    client = as_member(teacher)
    address = teacher.to("lessons:lesson_edit", lesson.pk)
    assert 'name="until"' not in client.get(address).text
    client.post(address, form(student, until="2026-12-01"))
    assert Lesson.objects.count() == 1


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
    client.post(address, form(student, time="17:15", notes="Changed."))
    lesson.refresh_from_db()
    assert lesson.local.strftime("%H:%M") == "17:15"
    assert lesson.notes.get().words == "Long tones."  # notes are added on its page, and never changed


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
