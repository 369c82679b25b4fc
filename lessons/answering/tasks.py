"""What tells each side, once; done by the worker, after the commit. Run twice is the same as once."""

from __future__ import annotations

import datetime as dt
from functools import partial
from typing import Any

from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django_tasks import task
from django_tasks.base import Task

from lessons.answering.models import UNDO, Answer, Reply
from lessons.sending.models import Notice
from lessons.sending.tasks import Told, noted, tell_each, tell_once
from studio.models import Member
from studio.reading import written_for

# from the first answer of one sitting to the last, each within UNDO of the one before
LONGEST_SITTING = dt.timedelta(days=1)


def soon(one: Task[Any, Any]) -> Task[Any, Any]:
    """Return the task put off until an answer is past taking back, where the worker can wait."""
    return one.using(run_after=timezone.now() + UNDO) if one.get_backend().supports_defer else one


@task(queue_name="mail")
def tell_of_answer(answer_id: int, sent_at: str) -> None:
    """Tell a student of what was answered in one sitting, unless it was taken back after this sending.

    Each sending has its task, put off until it is past taking back. Where another answer to this student
    followed before that, its task tells of both, also if that other one was taken back.
    """
    rows = Answer.objects.select_related("submission__student__person", "submission__student__studio")
    student = rows.get(pk=answer_id).submission.student
    moment = dt.datetime.fromisoformat(sent_at)
    theirs = Answer.objects.filter(
        submission__student=student, submission__reed__taken_out_at__isnull=True
    ).select_related("submission__reed")
    if theirs.filter(sent_at__gt=moment, sent_at__lte=moment + UNDO).exists():
        return
    sitting = theirs.filter(sent_at__gt=moment - LONGEST_SITTING, sent_at__lte=moment)
    answers = [one for one in sitting if not _was_told(student, one)]
    if answers:
        with written_for(student.person):
            told = [_told(student, one) for one in answers]
            aloud = ngettext("There is an answer.", "There are answers.", len(answers))
            tell_once(student, _subject(answers), told, aloud)


def _was_told(student: Member, answer: Answer) -> bool:
    return Notice.objects.filter(to=student, about=f"answer {answer.pk}").exists()


def _told(student: Member, answer: Answer) -> Told:
    text = _("Reed %(reed)s in %(studio)s: %(outcome)s.") % {
        "reed": answer.submission.reed.number,
        "studio": student.studio,
        "outcome": answer.get_decision_display(),
    }
    return Told(f"answer {answer.pk}", text, student.to("lessons:round", answer.submission_id))


def _subject(answers: list[Answer]) -> str:
    """Name the reed and what is to become of it; of several reeds their numbers."""
    numbers = sorted({one.submission.reed.number for one in answers})
    if len(answers) == 1:
        return _("Reed %(reed)s: %(outcome)s") % {
            "reed": numbers[0],
            "outcome": answers[0].get_decision_display(),
        }
    return _("Answered: reeds %(reeds)s") % {"reeds": ", ".join(map(str, numbers))}


@task(queue_name="mail")
def tell_of_reply(reply_id: int) -> None:
    """Tell the other side of what was said back: the teachers who answered, or the student."""
    rows = Reply.objects.filter(pk=reply_id, submission__reed__taken_out_at__isnull=True)
    reply = rows.select_related("submission__reed").first()
    if reply is None:
        return
    members = Member.objects.current().filter(studio=reply.studio_id).exclude(pk=reply.by_id)
    answers = Answer.objects.sent().filter(submission=reply.submission_id)
    concerned = members.filter(Q(pk=reply.submission.student_id) | Q(pk__in=answers.values("author")))
    tell_each(partial(_tell_of_reply, reply, one) for one in concerned.select_related("person", "studio"))


def _tell_of_reply(reply: Reply, member: Member) -> None:
    about = f"reply {reply.pk}"
    if _knows_of_one_before(member, reply):
        noted(member, about)
        return
    where = {"reed": reply.submission.reed.number, "studio": member.studio}
    with written_for(member.person):
        text = _("Something was said back about reed %(reed)s in %(studio)s.") % where
        told = Told(about, text, member.to("lessons:round", reply.submission_id))
        subject = _("Reed %(reed)s: something was said back") % where
        tell_once(member, subject, [told], _("Something was said back."))


def _knows_of_one_before(member: Member, reply: Reply) -> bool:
    """Whether of this sitting a reply before this one was told and lies there unread: it leads to both."""
    rows = Reply.objects.unread_by(member).filter(submission=reply.submission_id, by=reply.by_id)
    before = rows.filter(at__lt=reply.at, at__gte=reply.at - UNDO).values_list("pk", flat=True)
    return Notice.objects.filter(to=member, about__in=[f"reply {pk}" for pk in before]).exists()


# what could not be told stands on the desk and in the queue
GIVEN_UP = {"tell_of_answer": None, "tell_of_reply": None}
