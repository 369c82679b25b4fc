"""E-mail that tells each side, once; done by the worker, after the commit. Run twice is the same as once."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.conf import settings
from django.core.mail import send_mail
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tasks import task
from django_tasks.base import Task

from lessons.models import UNDO, Answer, Looking, Notice, Reply, Submission
from studio.models import Member


def soon(one: Task[Any, Any]) -> Task[Any, Any]:
    """Return the task put off until an answer is past taking back, where the worker can wait."""
    return one.using(run_after=timezone.now() + UNDO) if one.get_backend().supports_defer else one


@task()
def tell_of_round(submission_id: int) -> None:
    """Tell the teachers that a reed waits: the one who has it, else all of them."""
    rows = Submission.objects.waiting().filter(reed__taken_out_at__isnull=True).select_related("reed")
    submission = rows.filter(pk=submission_id).first()
    if submission is None:
        return  # answered or taken out meanwhile
    for teacher in _whom_to_tell(submission):
        _tell_once(
            teacher,
            f"round {submission.pk}",
            _("A reed waits for you"),
            _("A reed waits for an answer in %(studio)s."),
            teacher.to("lessons:review", submission.pk),
        )


def _whom_to_tell(submission: Submission) -> list[Member]:
    teachers = Member.objects.teachers().filter(studio=submission.studio_id)
    teachers = teachers.select_related("person", "studio")
    having = Looking.objects.filter(submission__reed=submission.reed_id, has_it=True).values("member")
    return list(teachers.filter(pk__in=having)) or list(teachers)


@task()
def tell_of_answer(answer_id: int, sent_at: str) -> None:
    """Tell a student of an answer, unless it was taken back after this sending."""
    rows = Answer.objects.filter(pk=answer_id, sent_at=dt.datetime.fromisoformat(sent_at))
    rows = rows.filter(submission__reed__taken_out_at__isnull=True)
    answer = rows.select_related("submission__student__person", "submission__student__studio").first()
    if answer is None:
        return
    student = answer.submission.student
    _tell_once(
        student,
        f"answer {answer.pk}",
        _("Your teacher has answered"),
        _("There is an answer about your reed in %(studio)s."),
        student.to("lessons:round", answer.submission_id),
    )


@task()
def tell_of_reply(reply_id: int) -> None:
    """Tell the other side of what was said back: the teachers who answered, or the student."""
    rows = Reply.objects.filter(pk=reply_id, submission__reed__taken_out_at__isnull=True)
    reply = rows.select_related("submission").first()
    if reply is None:
        return
    members = Member.objects.current().filter(studio=reply.studio_id).exclude(pk=reply.by_id)
    answers = Answer.objects.sent().filter(submission=reply.submission_id)
    concerned = members.filter(Q(pk=reply.submission.student_id) | Q(pk__in=answers.values("author")))
    for member in concerned.select_related("person", "studio"):
        _tell_once(
            member,
            f"reply {reply.pk}",
            _("Something was said back"),
            _("Something was said back about a reed in %(studio)s."),
            member.to("lessons:round", reply.submission_id),
        )


def _tell_once(to: Member, about: str, subject: str, text: str, path: str) -> None:
    """Write one e-mail; its notice is what makes it once. Nobody else's name, words or photos are in it."""
    if not to.person.email or to.left_at:
        return
    notice, new = Notice.objects.get_or_create(to=to, about=about, defaults={"studio_id": to.studio_id})
    if not new:
        return
    body = f"{text % {'studio': to.studio}}\n\n{settings.SITE_ADDRESS.rstrip('/')}{path}\n"
    try:
        send_mail(subject, body, None, [to.person.email])
    except Exception:
        notice.delete()  # it was not told: a later try may
        raise
