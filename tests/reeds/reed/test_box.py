"""The box: blanks at rest, for how long, which are ready."""

from __future__ import annotations

import datetime as dt

from django.utils import timezone

from reeds.checks.sheet import Limit, Sheet
from reeds.numbers.words import Style
from reeds.reed.models.reed import Reed
from reeds.reed.pages import blanks_of, boxes_of
from tests import factories as make


def resting(owner, hours: float, **given) -> Reed:
    since = timezone.now() - dt.timedelta(hours=hours)
    return make.ReedFactory(owner=owner, stage_since=since, **given)


def test_box_holds_the_blanks_longest_rest_first_and_says_which_are_ready(student, as_member):
    fresh, old = resting(student, 2, number=1), resting(student, 24 * 20, number=2, stage="bound")
    for stage in ("cane", "shaped", "scraped", "playing", "given_up"):
        resting(student, 99, stage=stage)
    page = as_member(student).get(student.to("reeds:box")).content.decode()
    assert "2 blanks" in page
    assert "1 ready to scrape" in page
    assert page.index(f">{old.number}</span>") < page.index(f">{fresh.number}</span>")
    assert page.count('class="cork"') == 2
    assert "rested 20 days" in page
    assert "rested 2 hours" in page
    assert page.count("tag-ready") == 1


def test_blank_is_ready_at_the_moment_its_own_sheet_says(student):
    two_weeks = Sheet(Style.SHORT, (Limit(quantity="rest", low=14.0),))
    silent = Sheet(Style.SHORT, (Limit(quantity="gouge", low=0.5),))
    slow = make.VersionFactory(pattern__studio=student.studio, data=two_weeks.to_json())
    none = make.VersionFactory(pattern__studio=student.studio, data=silent.to_json())
    since = timezone.now()
    make.ReedFactory(owner=student, version=slow, stage_since=since, number=1)
    make.ReedFactory(owner=student, version=none, stage_since=since, number=2)
    blanks = blanks_of(student)
    for days, ready in (
        (0.49, [False, False]),
        (0.5, [False, True]),
        (13.9, [False, True]),
        (14, [True, True]),
    ):
        now = since + dt.timedelta(days=days)
        assert [blank.ready_at <= now for blank in blanks] == ready
        (box,) = boxes_of(blanks[:1], blanks, now, {})
        assert (box.count, box.ready) == (2, sum(ready))


def test_teacher_sees_a_box_for_each_student(teacher, student, other_student, as_member):
    resting(student, 5)
    resting(other_student, 5)
    page = as_member(teacher).get(teacher.to("reeds:box")).content.decode()
    assert page.count('class="box"') == 2
    assert f"<h2>{student}</h2>" in page


def test_box_asks_as_often_for_many_blanks_as_for_two(
    student, teacher, as_member, django_assert_max_num_queries
):
    client, address = as_member(teacher), teacher.to("reeds:box")
    for _n in range(2):
        resting(student, 5)
    with django_assert_max_num_queries(8) as few:
        client.get(address)
    for _n in range(20):
        resting(make.student(studio=teacher.studio), 5)
    with django_assert_max_num_queries(len(few)):
        page = client.get(address)
    assert page.content.decode().count('class="cork"') == 22


def test_fellow_student_and_stranger_see_nothing_of_it(student, other_student, stranger, as_member):
    resting(student, 5)
    assert "No blank is at rest" in as_member(other_student).get(student.to("reeds:box")).content.decode()
    assert as_member(stranger).get(student.to("reeds:box")).status_code == 404
    assert "No blank is at rest" in as_member(stranger).get(stranger.to("reeds:box")).content.decode()


def test_reed_taken_out_is_in_no_box(student, as_member):
    resting(student, 5, taken_out_at=timezone.now())
    assert "No blank is at rest" in as_member(student).get(student.to("reeds:box")).content.decode()


def test_wrong_method_is_refused(student, as_member):
    assert as_member(student).post(student.to("reeds:box")).status_code == 405


def test_binding_does_not_end_the_rest_that_began_with_tying(student, as_member):
    reed = resting(student, 3, stage="bound", made_at=timezone.now() - dt.timedelta(days=21))
    step = {"studio": reed.studio, "reed": reed, "by": student, "kind": "stage"}
    reed.events.create(**step, to_stage="tied", at=timezone.now() - dt.timedelta(days=20))
    reed.events.create(**step, to_stage="bound", from_stage="tied", at=reed.stage_since)
    client = as_member(student)
    assert "rested 20 days" in client.get(student.to("reeds:box")).content.decode()
    assert "at rest for 20 days" in client.get(student.to("reeds:reed", reed.pk)).content.decode()
    assert "20 days" in client.get(student.to("lessons:desk")).content.decode()
