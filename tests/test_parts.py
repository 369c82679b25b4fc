"""Lists come in parts of fifty, with a plain link to those further on; the address says which part."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from lessons.lesson.models import Lesson, SetWork
from reeds.reed.models.reed import Reed
from reeds.sheet.models.pattern import Pattern
from studio.models import Member, Person, Role
from tests import factories as make
from tests.many import many_of_all

pytestmark = pytest.mark.django_db
MANY = 51


def parts_of(client, address, name, row, last=2):
    """Open the first part, follow its links to the last one; return how many rows these two show."""
    first = text = client.get(address).text
    assert f'id="{name}"' in first
    for number in range(2, last + 1):
        (link,) = re.findall(rf'href="(\?{name}={number})#{name}"', text)
        text = client.get(address + link).text
        assert f'href="?{name}={number - 1}#{name}"' in text
    assert f'href="?{name}={last + 1}#{name}"' not in text
    return len(re.findall(row, first)), len(re.findall(row, text))


def members(studio, role, left_at=None):
    people = Person.objects.bulk_create(
        Person(username=f"{role}{left_at}{n:02}", name=f"P {n:02}") for n in range(MANY)
    )
    return Member.objects.bulk_create(
        Member(studio=studio, person=person, role=role, left_at=left_at) for person in people
    )


def test_lessons_that_were_those_to_come_and_open_work(as_member, teacher, student):
    client, address, now = as_member(teacher), teacher.to("lessons:lessons"), timezone.now()
    for days in (-1, 1):
        lessons = Lesson.objects.bulk_create(
            Lesson(studio=teacher.studio, at=now + dt.timedelta(days=days * (n + 1)), time_zone="UTC")
            for n in range(MANY)
        )
        there = Lesson.present.through
        there.objects.bulk_create(there(lesson=one, member=student) for one in lessons)
    SetWork.objects.bulk_create(
        SetWork(studio=teacher.studio, student=student, words=f"w{n}") for n in range(MANY)
    )
    rows = r'class="row-link" href="[^"]*/lessons/\d+/"'
    assert parts_of(client, address, "past", rows, 3) == (50, 26)
    assert parts_of(client, address, "coming", rows, 3) == (50, 26)
    assert parts_of(client, address, "work", r'class="row-link" href="[^"]*/work/\d+/"', 3) == (25, 1)
    assert client.get(address).text.count(f'<span class="quiet">{student}</span>') == 50


def test_people(as_member, teacher, student):
    client, address = as_member(teacher), teacher.to("people")
    for role, left_at in ((Role.STUDENT, None), (Role.GUARDIAN, None), (Role.STUDENT, timezone.now())):
        members(teacher.studio, role, left_at)
    who = r'<span class="who">'
    shown = len(re.findall(who, client.get(address).text))
    for name, most, last, left in (("students", 50, 2, 2), ("guardians", 12, 5, 3), ("left", 12, 5, 3)):
        assert parts_of(client, address, name, who, last) == (shown, shown - most + left)
    assert "51 have left" in client.get(address).text
    assert "51 have left" in client.get(address, {"left": 2}).text
    assert 'href="?left=2&amp;students=2#students"' in client.get(address, {"left": 2}).text
    past_the_end = client.get(address, {"students": 3}).text
    assert "No student yet" not in past_the_end
    assert 'href="?students=2#students"' in past_the_end


def test_blanks_in_boxes_and_each_box_counts_all_that_lies_in_it(as_member, teacher, student):
    version, long_ago = make.VersionFactory(pattern__studio=teacher.studio), timezone.now() - dt.timedelta(90)
    for n in range(MANY):
        since = timezone.now() if n < 20 else long_ago
        make.ReedFactory(owner=student, version=version, stage_since=since)
    client, address = as_member(student), student.to("reeds:box")
    assert parts_of(client, address, "page", r'class="cork"') == (50, 1)
    for page in (1, 2):
        text = client.get(address, {"page": page}).text
        assert "51 blanks" in text
        assert "31 ready to scrape" in text


def test_sheets(as_member, teacher):
    Pattern.objects.bulk_create(
        Pattern(studio=teacher.studio, name=f"S {n:02}{bool(away)}", put_away_at=away)
        for n in range(MANY)
        for away in (None, timezone.now())
    )
    client, address = as_member(teacher), teacher.to("reeds:patterns")
    client.get(address)  # a new studio finds the starters here
    used = Pattern.objects.filter(studio=teacher.studio, put_away_at=None).count()
    rows = r"/sheets/\d+/\""
    assert parts_of(client, address, "used", rows) == (62, used - 50 + 12)
    assert parts_of(client, address, "away", rows, 5) == (62, 53)


def test_ten_times_the_rows_are_asked_for_as_often_and_shown_as_few(as_member):
    short, long = many_of_all(60, 15, share=0.4), many_of_all(600, 150, share=4)
    for who, name in (
        *(("student", name) for name in ("lessons:desk", "reeds:box", "reeds:reeds", "lessons:lessons")),
        *(("teacher", name) for name in ("reeds:box", "reeds:reeds", "lessons:lessons", "lessons:queue")),
        *(("teacher", name) for name in ("people", "reeds:patterns")),
    ):
        asked, shown = [], []
        for studio in (short, long):
            member = studio.teacher if who == "teacher" else studio.students[0]
            client = as_member(member)
            with CaptureQueriesContext(connection) as queries:
                text = client.get(member.to(name)).text
            asked.append(len(queries))
            shown.append(text.count("<li"))
        assert asked[0] == asked[1], (who, name)
        assert shown[1] < 140, (who, name)


@pytest.mark.parametrize("asked", ["0", "-1", "x", "9" * 30, "²"])
def test_a_part_that_nobody_has_is_an_empty_list_or_the_first(as_member, student, asked):
    Reed.objects.filter(owner=student).delete()
    assert as_member(student).get(student.to("reeds:box"), {"page": asked}).status_code == 200
