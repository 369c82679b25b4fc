"""E-mail tells each side, once; taken back in time, it is not told at all."""

import datetime as dt

import pytest
from django.core import mail
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from lessons.answering import actions, tasks
from lessons.answering.models import Answer, Reply, Written
from lessons.sending import tasks as telling
from lessons.sending.models import Notice, Submission
from tests import factories as make


@pytest.fixture
def sent(student):
    return make.sent_round(student, question="A secret question")


@pytest.fixture
def answered(sent, teacher):
    answer = actions.answer_of(sent, teacher)
    actions.keep_answer(answer, Written(words="Secret words", decision="play"))
    actions.send_answer(answer)
    answer.refresh_from_db()
    return answer


def tell_of_answer(answer):
    tasks.tell_of_answer.func(answer.pk, answer.sent_at.isoformat())


def test_every_teacher_is_told_once_of_a_new_round(sent, teacher, stranger, settings):
    settings.SITE_ADDRESS = "https://reeds.example.org/"
    other = make.teacher(studio=teacher.studio)
    make.teacher(studio=teacher.studio, left_at=timezone.now())
    for _time in range(2):
        telling.tell_of_round.func(sent.pk)
    assert sorted(one.to[0] for one in mail.outbox) == sorted([teacher.person.email, other.person.email])
    assert f"https://reeds.example.org{teacher.to('lessons:review', sent.pk)}" in mail.outbox[0].body


def test_the_teacher_who_has_the_reed_is_told_alone(sent, teacher):
    other = make.teacher(studio=teacher.studio)
    actions.claim(sent, other)
    telling.tell_of_round.func(sent.pk)
    assert [one.to for one in mail.outbox] == [[other.person.email]]


def test_nobody_is_told_of_a_round_that_was_answered_or_taken_out(answered, student):
    telling.tell_of_round.func(answered.submission_id)
    gone = make.sent_round(student, reed=make.ReedFactory(owner=student, taken_out_at=timezone.now()))
    telling.tell_of_round.func(gone.pk)
    assert mail.outbox == []


def test_the_student_is_told_once_of_an_answer(answered, student):
    for _time in range(2):
        tell_of_answer(answered)
    (one,) = mail.outbox
    assert one.to == [student.person.email]
    assert student.to("lessons:round", answered.submission_id) in one.body


def test_an_answer_taken_back_is_not_told_and_sent_again_told_once(answered):
    first = answered.sent_at
    actions.take_answer_back(answered)
    tasks.tell_of_answer.func(answered.pk, first.isoformat())
    assert mail.outbox == []
    actions.send_answer(answered)
    answered.refresh_from_db()
    assert answered.sent_at != first
    tasks.tell_of_answer.func(answered.pk, first.isoformat())
    assert mail.outbox == []
    tell_of_answer(answered)
    assert len(mail.outbox) == 1


def test_the_other_side_is_told_once_of_what_was_said_back(answered, teacher, student):
    other = make.teacher(studio=teacher.studio)
    for by, to in ((student, teacher), (teacher, student)):
        said = Reply.objects.create(studio=by.studio, submission=answered.submission, by=by, words="Why?")
        mail.outbox.clear()
        for _time in range(2):
            tasks.tell_of_reply.func(said.pk)
        assert [one.to for one in mail.outbox] == [[to.person.email]]
    assert not Notice.objects.filter(to=other).exists()


def answer_at(row, author, seconds, decision="play"):
    """Return the answer to a round, sent so many seconds after a fixed moment."""
    answer = actions.answer_of(row, author)
    moment = row.sent_at.replace(microsecond=0) + dt.timedelta(seconds=seconds)
    Answer.objects.filter(pk=answer.pk).update(decision=decision, sent_at=moment)
    answer.refresh_from_db()
    return answer


@pytest.fixture
def sitting(student, teacher):
    """Four answers to one student, the last long after the others; their rounds were sent at once."""
    first = make.sent_round(student)
    rows = [first, *(make.sent_round(student, reed=make.ReedFactory(owner=student)) for _more in range(3))]
    Submission.objects.update(sent_at=first.sent_at)
    for row in rows:
        row.refresh_from_db()
    decisions = ("play", "rest", "bring", "work")
    return [
        answer_at(row, teacher, seconds, decision)
        for row, seconds, decision in zip(rows, (0, 120, 400, 4000), decisions, strict=True)
    ]


def test_one_e_mail_gathers_a_sittings_answers(sitting, student):
    for answer in sitting[:3]:
        tell_of_answer(answer)
    (one,) = mail.outbox
    numbers = [answer.submission.reed.number for answer in sitting]
    assert one.subject == f"Answered: reeds {', '.join(map(str, sorted(numbers[:3])))}"
    for answer, outcome in zip(
        sitting[:3], ("play it", "let it rest", "bring it to the lesson"), strict=True
    ):
        assert f"Reed {answer.submission.reed.number} in {student.studio}: {outcome}." in one.body
        assert one.body.count(student.to("lessons:round", answer.submission_id)) == 1
    tell_of_answer(sitting[3])
    assert mail.outbox[1].subject == f"Reed {numbers[3]}: work on it"


@pytest.mark.parametrize("order", [(3, 2, 1, 0), (2, 0, 3, 1), (0, 1, 2, 3)])
def test_each_is_told_once_though_the_worker_came_late_and_in_any_order(order, sitting, student):
    for place in (*order, *order):
        tell_of_answer(sitting[place])
    told = "".join(one.body for one in mail.outbox)
    assert [told.count(f"{student.to('lessons:round', one.submission_id)}\n") for one in sitting] == [1] * 4


def test_the_last_of_a_sitting_taken_back_leaves_the_others_told(sitting, student):
    last = sitting[2].sent_at.isoformat()
    Answer.objects.filter(pk=sitting[3].pk).update(sent_at=None)
    for answer in sitting[:2]:
        tell_of_answer(answer)
    assert mail.outbox == []
    Answer.objects.filter(pk=sitting[2].pk).update(sent_at=None)
    tasks.tell_of_answer.func(sitting[2].pk, last)
    (one,) = mail.outbox
    assert student.to("lessons:round", sitting[2].submission_id) not in one.body
    assert Notice.objects.count() == 2


def test_another_students_answers_are_told_to_that_student(sitting, other_student, teacher):
    theirs = answer_at(make.sent_round(other_student), teacher, 10)
    for answer in (*sitting[:3], theirs):
        tell_of_answer(answer)
    assert sorted(one.to[0] for one in mail.outbox) == sorted(
        [sitting[0].submission.student.person.email, other_student.person.email]
    )


def test_the_subject_names_the_reed_and_what_happened(answered, sent, teacher, student):
    number = sent.reed.number
    tell_of_answer(answered)
    said = Reply.objects.create(studio=sent.studio, submission=sent, by=student, words="Why?")
    tasks.tell_of_reply.func(said.pk)
    Submission.objects.update(answered_at=None)
    telling.tell_of_round.func(sent.pk)
    assert [one.subject for one in mail.outbox] == [
        f"Reed {number}: play it",
        f"Reed {number}: something was said back",
        f"Reed {number} waits for you",
    ]


def test_who_has_no_e_mail_is_told_nothing(answered, student):
    student.person.email = ""
    student.person.save()
    tell_of_answer(answered)
    assert mail.outbox == []
    assert not Notice.objects.exists()


def test_no_name_words_or_photo_is_in_an_e_mail(answered, sent, teacher, student):
    sent.answered_at = None
    sent.save()
    tell_of_answer(answered)
    telling.tell_of_round.func(sent.pk)
    assert len(mail.outbox) == 2
    for one in mail.outbox:
        text = one.subject + one.body
        assert not one.attachments
        for secret in (str(teacher), str(student), "Secret words", "A secret question"):
            assert secret not in text


def test_what_could_not_be_sent_is_tried_again(answered, monkeypatch):
    def refuse(*_args, **_more):
        raise OSError("no mail server")

    monkeypatch.setattr(telling, "send_mail", refuse)
    with pytest.raises(OSError, match="no mail server"):
        tell_of_answer(answered)
    monkeypatch.undo()
    tell_of_answer(answered)
    assert len(mail.outbox) == 1


def test_sending_an_answer_puts_the_telling_off_until_it_is_past_taking_back(
    sent, teacher, worker_later, django_capture_on_commit_callbacks
):
    answer = actions.answer_of(sent, teacher)
    actions.keep_answer(answer, Written(decision="play"))
    with django_capture_on_commit_callbacks(execute=True):
        actions.send_answer(answer)
    waiting = DBTaskResult.objects.get()
    sent_at = Answer.objects.get().sent_at
    assert waiting.run_after >= sent_at + dt.timedelta(minutes=5)
    assert mail.outbox == []
