"""What nobody of one's side has opened is counted on every page until it is, and by one notion of 'read'."""

import datetime as dt

import pytest
from django.db import connection
from django.template import Context, Template
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from lessons.answering import actions
from lessons.answering.models import Reply, Written
from lessons.sending.models import Submission
from tests import factories as make

TITLE = "({}) My desk"


@pytest.fixture
def round_(student):
    return make.sent_round(student)


def answer(round_, teacher):
    given = actions.answer_of(round_, teacher)
    actions.keep_answer(given, Written(words="Rest it.", decision="rest"))
    actions.send_answer(given)


def say(round_, by):
    return Reply.objects.create(studio=round_.studio, submission=round_, by=by, words="Why?")


def read(round_, reader):
    """As the open page says it."""
    actions.note_read(Submission.objects.get(pk=round_.pk), reader)


def unread(member):
    """Return the rounds in which something is unread, and hold the count of the pages to it."""
    rows = list(Submission.objects.visible_to(member).unread_by(member))
    request = type("Asked", (), {"member": member})()
    shown = Template("{% load unread %}{% unread_count %}").render(Context({"request": request}))
    assert int(shown) == len(rows)
    return rows


def test_an_answer_is_unread_for_its_student_until_it_was_opened(round_, student, other_student, teacher):
    assert unread(student) == []
    answer(round_, teacher)
    assert unread(student) == [round_]
    assert unread(other_student) == unread(teacher) == []
    read(round_, student)
    assert unread(student) == []


def test_an_answer_of_another_teacher_after_that_is_unread_again(round_, student, teacher):
    answer(round_, teacher)
    read(round_, student)
    answer(round_, make.teacher(studio=teacher.studio))
    assert unread(student) == [round_]


def test_what_was_said_back_is_unread_for_the_other_side_alone(round_, student, other_student, teacher):
    answer(round_, teacher)
    read(round_, student)
    colleague = make.teacher(studio=teacher.studio)
    for by, readers, others in (
        (student, (teacher, colleague), (student, other_student)),
        (teacher, (student,), (teacher, colleague, other_student)),
    ):
        for _word in range(3):
            say(round_, by)
        assert [unread(one) for one in readers] == [[round_]] * len(readers)
        assert [unread(one) for one in others] == [[]] * len(others)
        read(round_, readers[0])
        assert [unread(one) for one in readers] == [[]] * len(readers)


def test_a_read_word_of_a_teacher_and_an_own_unread_one_are_not_taken_for_one_another(
    round_, student, teacher
):
    answer(round_, teacher)
    read(round_, student)
    said = say(round_, teacher)
    Reply.objects.filter(pk=said.pk).update(read_at=timezone.now())
    say(round_, student)
    assert unread(student) == []


def test_it_agrees_with_what_one_row_says_of_itself(student, teacher):
    rows = [make.sent_round(student)]
    rows += [make.sent_round(student, reed=make.ReedFactory(owner=student)) for _more in range(4)]
    now = timezone.now()
    answered, read = (now, now, now, None, now), (None, now - dt.timedelta(1), now, None, None)
    for row, at, opened in zip(rows, answered, read, strict=True):
        Submission.objects.filter(pk=row.pk).update(answered_at=at, read_at=opened)
    Submission.objects.filter(pk=rows[4].pk).update(answered_with=rows[0])
    kept = Submission.objects.filter(student=student)
    assert {row for row in kept if row.is_new} == set(unread(student)) == set(rows[:2])


def test_nothing_of_a_reed_taken_out_or_of_another_studio_counts(round_, student, teacher, stranger):
    answer(round_, teacher)
    say(round_, student)
    assert unread(teacher) == [round_]
    assert unread(stranger) == []
    round_.reed.taken_out_at = timezone.now()
    round_.reed.save()
    assert unread(teacher) == unread(student) == []


def test_a_guardian_is_of_no_side(teacher):
    child = make.student(studio=teacher.studio, under_age=True)
    guardian = make.guardian(child)
    round_ = make.sent_round(child)
    answer(round_, teacher)
    say(round_, teacher)
    assert unread(guardian) == []


def test_the_count_stands_in_title_bar_and_heading_until_it_is_read(round_, as_member, student, teacher):
    answer(round_, teacher)
    say(round_, teacher)
    client = as_member(student)
    desk = client.get(student.to("lessons:desk")).content.decode()
    assert " ".join(desk.split("<title>")[1].split("</title>")[0].split()).startswith(TITLE.format(1))
    assert "not read yet" in desk
    elsewhere = client.get(student.to("reeds:box")).content.decode()
    assert "(1)" in elsewhere.split("</title>")[0]
    read = client.post(student.to("lessons:read", round_.pk), headers={"HX-Request": "true"})
    assert read.headers["HX-Trigger"] == '{"unread": {"count": 0}}'
    desk = client.get(student.to("lessons:desk")).content.decode()
    assert "(1)" not in desk.split("</title>")[0]
    assert '<span class="count" data-unread hidden>' in desk


def test_the_desk_counts_as_every_other_page_does(as_member, student, teacher):
    rounds = [make.sent_round(student, reed=make.ReedFactory(owner=student)) for _round in range(4)]
    for round_ in rounds[:3]:
        answer(round_, teacher)
    for round_ in rounds[1:]:
        say(round_, teacher)
    read(rounds[2], student)
    say(rounds[2], student)
    desk = as_member(student).get(student.to("lessons:desk"))
    assert desk.context["unread_here"] == len(unread(student)) == 3


def test_it_is_one_query_however_much_there_is(student, teacher):
    for _round in range(4):
        row = make.sent_round(student, reed=make.ReedFactory(owner=student))
        answer(row, teacher)
        say(row, teacher)
    with CaptureQueriesContext(connection) as asked:
        assert len(unread(student)) == 4
    assert len(asked) == 2  # the rows, and the count of the pages
