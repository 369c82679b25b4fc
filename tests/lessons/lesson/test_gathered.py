"""A lesson gathers: reeds to bring, answers open, what was said back, set work, the agreed step, notes."""

from __future__ import annotations

import datetime as dt
import uuid

import pytest
from django.utils import timezone

from lessons.answering import actions as answering
from lessons.answering.models import Answer, Reply, Written
from lessons.lesson import actions
from lessons.lesson.models import Lesson, LessonNote, SetWork
from lessons.lesson.pages.gathered import Gathered
from reeds.reed.actions import take_out
from tests import factories as make


def held(teacher, *students, days):
    at = timezone.now() + dt.timedelta(days=days)
    row = Lesson.objects.create(studio=teacher.studio, at=at, time_zone="UTC", held_by=teacher)
    row.present.set(students)
    return row


@pytest.fixture
def last(teacher, student):
    return held(teacher, student, days=-7)


@pytest.fixture
def coming(teacher, student, last):
    return held(teacher, student, days=2)


def answered(row, teacher, decision, *, days=1.0, step=""):
    answer = answering.answer_of(row, teacher)
    answering.keep_answer(answer, Written(decision=decision, next_step=step))
    answering.send_answer(answer)
    Answer.objects.filter(pk=answer.pk).update(sent_at=timezone.now() - dt.timedelta(days=days))
    return answer


def page(client, member, lesson):
    answer = client.get(member.to("lessons:lesson", lesson.pk))
    assert answer.status_code == 200
    return answer


def test_bring_it_to_the_lesson_puts_the_reed_there(as_member, teacher, student, coming):
    row = make.sent_round(student)
    answered(row, teacher, "bring", step="I want to hear the low notes.")
    answered(make.sent_round(student), teacher, "play")
    for member in (teacher, student):
        shown = page(as_member(member), member, coming)
        assert [one.submission for one in shown.context["gathered"][0].brought] == [row]
        assert "I want to hear the low notes." in shown.text
        assert "To bring" in shown.text


def test_a_reed_that_was_answered_otherwise_since_is_not_brought(teacher, student, coming):
    reed = make.ReedFactory(owner=student)
    first, second = (make.sent_round(student, reed=reed, round=n) for n in (1, 2))
    answered(first, teacher, "bring", days=2)
    answered(second, teacher, "play", days=1)
    assert Gathered(coming, student, teacher).brought == []


def test_what_was_brought_to_the_lesson_before_is_not_brought_again(teacher, student, coming, last):
    answered(make.sent_round(student, days=10), teacher, "bring", days=9)
    assert Gathered(coming, student, teacher).brought == []
    assert len(Gathered(last, student, teacher).brought) == 1


def test_a_reed_taken_out_is_not_brought(teacher, student, coming):
    row = make.sent_round(student)
    answered(row, teacher, "bring")
    take_out(row.reed)
    assert Gathered(coming, student, teacher).brought == []


def test_a_draft_of_an_answer_brings_nothing(teacher, student, coming):
    answering.keep_answer(answering.answer_of(make.sent_round(student), teacher), Written(decision="bring"))
    assert Gathered(coming, student, teacher).brought == []


def test_answers_still_open_are_there_the_newest_round_of_each_reed(as_member, teacher, student, coming):
    reed = make.ReedFactory(owner=student)
    make.sent_round(student, reed=reed, days=3)
    newest = make.sent_round(student, reed=reed, round=2, question="Why does it close?")
    answered(make.sent_round(student), teacher, "rest")
    shown = page(as_member(teacher), teacher, coming)
    assert shown.context["gathered"][0].open_rounds == [newest]
    assert teacher.to("lessons:review", newest.pk) in shown.text
    mine = page(as_member(student), student, coming).text
    assert student.to("lessons:round", newest.pk) in mine
    assert "/queue/" not in mine


def test_a_lesson_that_was_shows_what_was_open_then(teacher, student, last):
    row = make.sent_round(student, days=9)
    answered(row, teacher, "rest", days=1)
    later = make.sent_round(student, days=3)
    assert Gathered(last, student, teacher).open_rounds == [row]
    assert later not in Gathered(last, student, teacher).open_rounds


def test_what_was_said_back_since_the_last_lesson_is_there(as_member, teacher, student, coming):
    row = make.sent_round(student)
    for days, words in ((9, "Long ago."), (1, "Now it closes.")):
        at = timezone.now() - dt.timedelta(days=days)
        Reply.objects.create(studio=row.studio, submission=row, by=student, words=words, at=at)
    shown = page(as_member(teacher), teacher, coming)
    assert [one.words for one in shown.context["gathered"][0].replies] == ["Now it closes."]
    assert "Long ago." not in shown.text


def test_set_work_is_there_with_what_came_of_it(as_member, teacher, student, coming, last):
    given = {"studio": teacher.studio, "student": student, "lesson": last, "set_at": last.at}
    open_work = SetWork.objects.create(words="three blanks", count=3, **given)
    open_work.reeds.add(make.ReedFactory(owner=student, number=41))
    long_done = last.at - dt.timedelta(days=1)
    SetWork.objects.create(words="long done", done_at=long_done, **given | {"lesson": None})
    here = SetWork.objects.create(words="two more", **given | {"lesson": coming})
    shown = page(as_member(student), student, coming)
    one = shown.context["gathered"][0]
    assert (one.to_look_at, one.set_here) == ([open_work], [here])
    assert "long done" not in shown.text
    assert ">41</a>" in shown.text


def test_the_step_agreed_last_time_stands_on_top_of_the_next(as_member, teacher, student, coming, last):
    client = as_member(teacher)
    address = teacher.to("lessons:lesson_agree", last.pk)
    client.post(address, {"agreed": "  Tie two,\n bring one. "})
    assert "Tie two, bring one." in page(as_member(student), student, coming).text
    assert client.post(address, {"agreed": "x" * 501}).status_code == 422
    client.post(address, {"agreed": ""})
    assert "Tie two" not in page(client, teacher, coming).text


def test_only_teachers_agree(as_member, teacher, student, last, stranger):
    for member in (student, stranger):
        answer = as_member(member).post(teacher.to("lessons:lesson_agree", last.pk), {"agreed": "x"})
        assert answer.status_code == 404
    last.refresh_from_db()
    assert last.agreed == ""


def note(client, member, lesson, words, key=None):
    return client.post(member.to("lessons:lesson_note", lesson.pk), {"words": words, "key": key or ""})


def test_both_add_notes_and_it_says_by_whom(as_member, teacher, student, last):
    note(as_member(teacher), teacher, last, "Corners first.")
    note(as_member(student), student, last, "I will sharpen the knife.")
    assert list(LessonNote.objects.values_list("words", "by")) == [
        ("Corners first.", teacher.pk),
        ("I will sharpen the knife.", student.pk),
    ]
    shown = page(as_member(student), student, last).text
    assert "Corners first." in shown
    assert f"{teacher}, " in shown


def test_a_note_sent_twice_is_noted_once(as_member, student, last):
    key = uuid.uuid4()
    for _time in range(2):
        assert note(as_member(student), student, last, "Once.", key).status_code == 302
    assert LessonNote.objects.count() == 1


@pytest.mark.parametrize("words", ["", "  \n ", "x" * 5001])
def test_a_note_without_words_or_too_long_is_refused_and_stays_on_the_page(as_member, student, last, words):
    answer = note(as_member(student), student, last, words)
    assert answer.status_code == 422
    assert 'class="errorlist"' in answer.text
    assert not LessonNote.objects.exists()


def test_a_key_that_is_none_is_refused(as_member, student, last):
    assert note(as_member(student), student, last, "Words.", "no key").status_code == 422


def test_who_was_not_there_and_another_studio_note_nothing(as_member, teacher, other_student, stranger, last):
    for member in (other_student, stranger):
        client = as_member(member)
        assert note(client, member, last, "x").status_code == 404
        assert note(client, teacher, last, "x").status_code == 404
    assert not LessonNote.objects.exists()


def test_of_a_lesson_of_several_each_sees_their_own_alone(as_member, teacher, student, other_student):
    both = held(teacher, student, other_student, days=1)
    for member in (student, other_student):
        row = make.sent_round(member)
        answered(row, teacher, "bring", step=f"words for {member}")
    shown = page(as_member(teacher), teacher, both).text
    assert f"words for {student}" in shown
    assert f"words for {other_student}" in shown
    mine = page(as_member(student), student, both).text
    assert f"words for {student}" in mine
    assert f"words for {other_student}" not in mine
    assert str(other_student) not in mine


@pytest.mark.parametrize("reeds", [1, 6])
def test_the_queries_are_as_many_for_one_reed_as_for_six(
    as_member, teacher, student, coming, reeds, django_assert_max_num_queries
):
    for _reed in range(reeds):
        answered(make.sent_round(student), teacher, "bring")
        row = make.sent_round(student)
        Reply.objects.create(studio=row.studio, submission=row, by=student, words="Said.")
        work = SetWork.objects.create(
            studio=row.studio, student=student, words="w", set_at=coming.at - dt.timedelta(1)
        )
        work.reeds.add(row.reed)
    client = as_member(teacher)
    with django_assert_max_num_queries(16):
        page(client, teacher, coming)


def test_removing_a_lesson_takes_its_notes(teacher, last):
    actions.add_note(last, teacher, "Words.", uuid.uuid4())
    last.delete()
    assert not LessonNote.objects.exists()
