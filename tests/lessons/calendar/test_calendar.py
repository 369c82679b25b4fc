"""A calendar by a secret link: what is in it, who may read it, how it is made and taken back."""

from __future__ import annotations

import datetime as dt
import io
import logging

import icalendar
import pytest
from django.test import Client
from django.utils import timezone

from lessons.calendar.actions import make_link, take_back
from lessons.calendar.models import CalendarLink
from lessons.lesson.models import Lesson, SetWork
from reeds.reed.models.reed import ReedEvent
from reeds.sheet.starters import SHORT_SCRAPE
from studio.models import Member
from tests import factories as make

DAY = dt.timedelta(days=1)


@pytest.fixture
def minor(teacher):
    return make.student(studio=teacher.studio, under_age=True, person__name="Secret Minor")


def lesson(by, *present, at=None, **given):
    row = Lesson.objects.create(
        studio=by.studio, at=at or timezone.now() + DAY, time_zone=by.studio.time_zone, held_by=by, **given
    )
    row.present.set(present)
    return row


def work(student, **given):
    words = {"words": "mend the leak at Mr Reed's", "count": 3, "due_on": make.today() + 3 * DAY}
    return SetWork.objects.create(studio=student.studio, student=student, **words | given)


def blank(owner, tied=None, **given):
    reed = make.ReedFactory(owner=owner, stage="tied", **given)
    at = tied or timezone.now()
    ReedEvent.objects.create(studio=owner.studio, reed=reed, kind="stage", to_stage="tied", at=at)
    return reed


def got(token):
    return Client().get(f"/calendar/{token}.ics")


def events(member):
    answer = got(make_link(member))
    assert answer.status_code == 200
    return {
        event["UID"].split("@")[0]: event for event in icalendar.Calendar.from_ical(answer.content).events
    }


def titles(member):
    return sorted(str(event["SUMMARY"]) for event in events(member).values())


# --- what is in it --------------------------------------------------------------------------------


def test_a_student_finds_their_own_lessons_work_and_rested_blanks(teacher, student, other_student):
    mine = lesson(teacher, student, agreed="Play it every day.")
    lesson(teacher, other_student)
    due, reed = work(student), blank(student)
    work(other_student)
    blank(other_student)
    found = events(student)
    assert set(found) == {f"lesson-{mine.pk}", f"work-{due.pk}", f"rested-{reed.pk}"}
    assert found[f"lesson-{mine.pk}"]["DTSTART"].dt == mine.at.replace(microsecond=0)
    assert found[f"work-{due.pk}"]["DTSTART"].dt == due.due_on
    assert titles(student) == ["3 reeds due", "Lesson", f"Reed {reed.number} has rested enough"]


def test_nobodys_words_are_in_it(teacher, student, minor):
    lesson(teacher, student, minor, agreed="The words agreed.")
    work(minor)
    for member in (teacher, minor, student):
        text = got(make_link(member)).content.decode()
        assert "agreed" not in text
        assert "leak" not in text
        assert "Secret Minor" not in text


def test_a_teacher_finds_who_comes_but_no_name_of_a_minor(teacher, student, minor):
    student.person.name = "Ida"
    student.person.save()
    for present in ([student], [student, minor], [minor], [minor, minor]):
        lesson(teacher, *present)
    lesson(teacher)
    work(student, count=1)
    work(minor)
    assert titles(teacher) == [
        "1 reed due: Ida",
        "3 reeds due",
        "Lesson",
        "Lesson with 1 student",
        "Lesson with 1 student",
        "Lesson with Ida",
        "Lesson with Ida and 1 more",
    ]


def test_a_blank_has_rested_when_its_sheet_says_so(student):
    limits = [row for row in SHORT_SCRAPE.to_json()["limits"] if row["quantity"] != "rest"]
    week = {"quantity": "rest", "low": 7.0, "high": 400.0, "source": "a test"}
    version = make.VersionFactory(
        pattern__studio=student.studio, data={"style": "short", "limits": [*limits, week]}
    )
    tied = timezone.now().replace(microsecond=0) - 2 * DAY
    reed = blank(student, tied, version=version)
    usual = make.VersionFactory(pattern__studio=student.studio, data={"style": "short", "limits": limits})
    other = blank(student, tied, version=usual)
    found = events(student)
    assert found[f"rested-{reed.pk}"]["DTSTART"].dt == tied + 7 * DAY
    assert found[f"rested-{other.pk}"]["DTSTART"].dt == tied + DAY / 2


def test_what_is_over_or_taken_away_vanishes(teacher, student):
    gone = lesson(teacher, student)
    kept = lesson(teacher, student)
    lesson(teacher, student, at=timezone.now() - 100 * DAY)
    done = work(student)
    scraped, out = blank(student), blank(student)
    assert len(events(student)) == 5
    gone.delete()
    SetWork.objects.filter(pk=done.pk).update(done_at=timezone.now())
    type(scraped).objects.filter(pk=scraped.pk).update(stage="scraped")
    type(out).objects.filter(pk=out.pk).update(taken_out_at=timezone.now())
    assert set(events(student)) == {f"lesson-{kept.pk}"}


def test_a_lesson_that_was_moved_keeps_its_name_and_has_the_new_time(teacher, student):
    row = lesson(teacher, student)
    before = events(student)[f"lesson-{row.pk}"]
    Lesson.objects.filter(pk=row.pk).update(at=row.at + DAY)
    after = events(student)[f"lesson-{row.pk}"]
    assert before["UID"] == after["UID"]
    assert after["DTSTART"].dt - before["DTSTART"].dt == DAY


def test_a_person_of_two_studios_has_a_calendar_of_each(teacher, student, stranger):
    elsewhere = Member.objects.create(studio=stranger.studio, person=student.person, role="student")
    here = lesson(teacher, student)
    there = lesson(stranger, elsewhere)
    assert set(events(student)) == {f"lesson-{here.pk}"}
    assert set(events(elsewhere)) == {f"lesson-{there.pk}"}
    take_back(elsewhere)
    assert CalendarLink.objects.filter(member=student).exists()


def test_a_large_studio_asks_no_more_of_the_database(teacher, django_assert_max_num_queries):
    students = [make.student(studio=teacher.studio) for _ in range(12)]
    for one in students:
        lesson(teacher, one)
        work(one)
    token = make_link(teacher)
    with django_assert_max_num_queries(9):
        got(token)


# --- who may read it ------------------------------------------------------------------------------


def test_a_wrong_an_old_and_a_taken_back_link_find_nothing(student):
    old = make_link(student)
    new = make_link(student)
    assert [got(token).status_code for token in (old, new, new[:-1], "x", "%00")] == [404, 200, 404, 404, 404]
    take_back(student)
    take_back(student)
    assert got(new).status_code == 404


def test_who_has_left_or_may_not_sign_in_finds_nothing(student):
    token = make_link(student)
    student.person.is_active = False
    student.person.save()
    assert got(token).status_code == 404
    student.person.is_active = True
    student.person.save()
    assert got(token).status_code == 200
    Member.objects.filter(pk=student.pk).update(left_at=timezone.now())
    assert got(token).status_code == 404


def test_the_database_does_not_hold_what_opens_it(student):
    token = make_link(student)
    (row,) = CalendarLink.objects.values()
    assert token not in str(row)
    assert len(token) >= 43


def test_the_calendar_is_read_only_private_and_leaves_no_session(student, stranger, as_member):
    token = make_link(student)
    answer = as_member(stranger).get(f"/calendar/{token}.ics")  # whoever is signed in beside it
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert "private" in answer["Cache-Control"]
    assert answer["Referrer-Policy"] == "no-referrer"
    fresh = got(token)
    assert not fresh.cookies
    assert Client().post(f"/calendar/{token}.ics").status_code == 405


def test_no_line_of_the_log_holds_the_link(student):
    token = make_link(student)
    take_back(student)
    (handler,) = [one for one in logging.getLogger().handlers if one.filters]
    log, before = io.StringIO(), handler.stream
    handler.setStream(log)
    try:
        got(token)
        Client().get(f"/join/{token}/more")
        Client().post(f"/calendar/{token}.ics")
    finally:
        handler.setStream(before)
    assert "Not Found: /calendar/[hidden]" in log.getvalue()
    assert token not in log.getvalue()


# --- making and taking back -----------------------------------------------------------------------


def test_the_page_shows_the_link_once(as_member, student):
    client, page = as_member(student), student.to("lessons:calendar")
    assert "Make a link" in client.get(page).content.decode()
    answer = client.post(student.to("lessons:calendar_make"))
    link = answer.context["link"]
    assert link in answer.content.decode()
    assert "no-store" in answer["Cache-Control"]
    assert Client().get(link).status_code == 200
    again = client.get(page).content.decode()
    assert link not in again
    assert "There is a link since" in again
    assert client.get(student.to("lessons:calendar_make")).status_code == 405
    assert client.post(student.to("lessons:calendar_take_back")).url == page
    assert Client().get(link).status_code == 404
    assert "There is a link since" not in client.get(page).content.decode()


def test_one_member_touches_nobody_elses_link(as_member, teacher, student):
    token = make_link(student)
    as_member(teacher).post(teacher.to("lessons:calendar_take_back"))
    as_member(teacher).post(teacher.to("lessons:calendar_make"))
    assert got(token).status_code == 200
    assert CalendarLink.objects.visible_to(teacher).get().member == teacher


@pytest.mark.parametrize("name", ["me", "lessons:lessons", "lessons:term"])
def test_the_pages_around_it_lead_to_it(as_member, student, name):
    assert student.to("lessons:calendar") in as_member(student).get(student.to(name)).content.decode()
