"""E-mail that tells each side, once; done by the worker, after the commit. Run twice is the same as once."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tasks import task
from django_tasks.base import Task

from lessons.answering.models import UNDO, Answer, Reply
from lessons.sending.tasks import tell_once
from studio.models import Member


def soon(one: Task[Any, Any]) -> Task[Any, Any]:
    """Return the task put off until an answer is past taking back, where the worker can wait."""
    return one.using(run_after=timezone.now() + UNDO) if one.get_backend().supports_defer else one


@task()
def tell_of_answer(answer_id: int, sent_at: str) -> None:
    """Tell a student of an answer, unless it was taken back after this sending."""
    rows = Answer.objects.filter(pk=answer_id, sent_at=dt.datetime.fromisoformat(sent_at))
    rows = rows.filter(submission__reed__taken_out_at__isnull=True)
    answer = rows.select_related("submission__student__person", "submission__student__studio").first()
    if answer is None:
        return
    student = answer.submission.student
    tell_once(
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
        tell_once(
            member,
            f"reply {reply.pk}",
            _("Something was said back"),
            _("Something was said back about a reed in %(studio)s."),
            member.to("lessons:round", reply.submission_id),
        )
