"""E-mail tells each side, once; taken back in time, it is not told at all."""

import datetime as dt

import pytest
from django.core import mail
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from lessons.answering import actions, tasks
from lessons.answering.models import Answer, Reply, Written
from lessons.sending import tasks as telling
from lessons.sending.models import Notice
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
    sent, teacher, settings, django_capture_on_commit_callbacks
):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": ["default"]}}
    answer = actions.answer_of(sent, teacher)
    actions.keep_answer(answer, Written(decision="play"))
    with django_capture_on_commit_callbacks(execute=True):
        actions.send_answer(answer)
    waiting = DBTaskResult.objects.get()
    sent_at = Answer.objects.get().sent_at
    assert waiting.run_after >= sent_at + dt.timedelta(minutes=5)
    assert mail.outbox == []
