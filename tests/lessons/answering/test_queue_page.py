"""Reeds waiting: who sees them, in which order, and why."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from lessons.answering import actions
from lessons.lesson.models import Lesson
from lessons.sending import need
from lessons.sending.models import Submission
from tests import factories as make


@pytest.fixture
def desk(as_member, teacher):
    return as_member(teacher)


def shown(client, member, **asked):
    page = client.get(member.to("lessons:queue"), asked)
    assert page.status_code == 200
    return [row.pk for row, _reasons in page.context["rows"]], page.content.decode()


def order(teacher):
    return list(
        Submission.objects.visible_to(teacher).waiting().in_order_of_need().values_list("pk", flat=True)
    )


def lesson(student, **ahead):
    at = timezone.now() + dt.timedelta(**ahead)
    row = Lesson.objects.create(studio=student.studio, at=at, time_zone="Europe/Berlin")
    row.present.add(student)
    return row


def test_a_teacher_sees_what_waits_and_opens_it(desk, teacher, student):
    row = make.sent_round(student, question="Why does it close on the left?")
    pks, text = shown(desk, teacher)
    assert pks == [row.pk]
    assert teacher.to("lessons:review", row.pk) in text
    assert "Why does it close" in text
    assert "sent in the last day" not in text
    assert "waits 1 day" in text


def test_a_draft_an_answered_round_and_a_reed_taken_out_are_not_there(desk, teacher, student):
    make.SubmissionFactory(reed=make.ReedFactory(owner=student))
    make.sent_round(student, answered_at=timezone.now())
    make.sent_round(student, reed=make.ReedFactory(owner=student, taken_out_at=timezone.now()))
    assert shown(desk, teacher)[0] == []


def test_a_student_and_a_stranger_find_no_queue(as_member, student, stranger, teacher):
    assert as_member(student).get(student.to("lessons:queue")).status_code == 404
    assert as_member(stranger).get(teacher.to("lessons:queue")).status_code == 404


def test_a_teacher_of_another_studio_sees_their_own_alone(as_member, student, stranger):
    make.sent_round(student)
    assert shown(as_member(stranger), stranger)[0] == []


def test_more_found_comes_first(teacher, student):
    little = make.sent_round(student, need=1)
    much = make.sent_round(student, need=9)
    assert order(teacher) == [much.pk, little.pk]


def test_a_reed_with_a_few_findings_gives_way_to_one_that_waited_for_two_weeks(teacher, student):
    found = make.sent_round(student, need=8, days=0.2)
    waited = make.sent_round(student, need=0, days=15)
    assert order(teacher) == [waited.pk, found.pk]


def test_no_number_of_findings_counts_for_more_than_the_most(teacher, student):
    many = make.sent_round(student, need=500, days=1)
    waited = make.sent_round(student, need=need.MOST_FOUND, days=8)
    assert order(teacher) == [waited.pk, many.pk]


def test_a_lesson_tomorrow_comes_before_none_and_before_one_next_week(teacher, student, other_student):
    without = make.sent_round(make.student(studio=teacher.studio))
    later = make.sent_round(other_student)
    soon = make.sent_round(student)
    lesson(other_student, days=6)
    lesson(student, hours=20)
    assert order(teacher) == [soon.pk, later.pk, without.pk]


def test_a_lesson_that_is_over_counts_for_nothing(teacher, student):
    lesson(student, days=-1)
    row = make.sent_round(student)
    assert Submission.objects.in_order_of_need().get(pk=row.pk).next_lesson is None


def test_among_equals_the_longest_waiting_is_first(teacher, student):
    second = make.sent_round(student, days=0.1)
    first = make.sent_round(student, days=0.3)
    assert order(teacher) == [first.pk, second.pk]


def test_the_page_says_why_a_reed_stands_where_it_stands(desk, teacher, student):
    found = [
        make.finding("above"),
        make.finding("below"),
        make.finding("contradiction"),
        make.finding("within"),
    ]
    make.sent_round(student, days=3, findings=[*found, make.finding("missing")], need=12)
    lesson(student, days=2, hours=1)
    text = shown(desk, teacher)[1]
    for reason in (
        "2 things off the sheet",
        "1 contradiction",
        "1 number to measure again",
        "waits 3 days",
        "lesson in 2 days",
    ):
        assert reason in text


def test_the_filters_narrow_it(desk, teacher, student, other_student):
    other_student.under_age = True
    other_student.save()
    plain = make.sent_round(student, reed=make.ReedFactory(owner=student, stage="playing"))
    odd = make.sent_round(other_student, findings=[make.finding("contradiction")])
    actions.claim(plain, teacher)
    assert shown(desk, teacher, student=student.pk)[0] == [plain.pk]
    assert shown(desk, teacher, stage="playing")[0] == [plain.pk]
    assert shown(desk, teacher, mine="on")[0] == [plain.pk]
    assert shown(desk, teacher, contradiction="on")[0] == [odd.pk]
    assert shown(desk, teacher, under_age="on")[0] == [odd.pk]


@pytest.mark.parametrize("asked", [{"student": "no"}, {"stage": "no"}, {"page": "99"}, {"student": "999999"}])
def test_a_filter_that_cannot_be_read_shows_the_queue(asked, desk, teacher, student):
    row = make.sent_round(student)
    assert shown(desk, teacher, **asked)[0] == [row.pk]


def test_a_students_name_of_another_studio_is_not_among_the_filters(desk, teacher, stranger):
    foreign = make.student(studio=stranger.studio)
    assert str(foreign) not in shown(desk, teacher)[1]


def test_it_is_paged_and_every_reed_is_on_one_page(desk, teacher, student):
    reed = make.ReedFactory(owner=student)
    for n in range(27):
        make.sent_round(student, reed=reed, round=n + 1, photos=0)
    first, second = shown(desk, teacher)[0], shown(desk, teacher, page=2)[0]
    assert (len(first), len(second)) == (25, 2)
    assert len({*first, *second}) == 27


def test_a_part_of_the_page_is_swapped_by_htmx(desk, teacher, student):
    make.sent_round(student)
    part = desk.get(teacher.to("lessons:queue"), headers={"HX-Request": "true"}).content.decode()
    assert part.lstrip().startswith("<section")


def test_the_queries_are_as_many_for_three_reeds_as_for_twenty(desk, teacher, student, other_student):
    def queries():
        with CaptureQueriesContext(
            connection,
        ) as counted:
            shown(desk, teacher)
        return len(counted)

    def more(count):
        for n in range(count):
            row = make.sent_round((student, other_student)[n % 2], findings=[make.finding("above")])
            actions.claim(row, teacher)

    more(3)
    few = queries()
    more(17)
    assert few > 5
    assert queries() == few
