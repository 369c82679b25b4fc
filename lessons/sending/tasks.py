"""E-mail that a reed waits, once; done by the worker, after the commit. Run twice is the same as once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.conf import settings
from django.core.mail import send_mail
from django.utils.translation import gettext as _
from django_tasks import task

from lessons.sending.models import Notice, Submission
from studio.models import Member


@task(queue_name="mail")
def tell_of_round(submission_id: int) -> None:
    """Tell the teachers that a reed waits: the one who has it, else all of them."""
    rows = Submission.objects.waiting().filter(reed__taken_out_at__isnull=True).select_related("reed")
    submission = rows.filter(pk=submission_id).first()
    if submission is None:
        return  # answered or taken out meanwhile
    number = submission.reed.number
    for teacher in _whom_to_tell(submission):
        text = _("Reed %(reed)s waits for an answer in %(studio)s.") % {
            "reed": number,
            "studio": teacher.studio,
        }
        told = Told(f"round {submission.pk}", text, teacher.to("lessons:review", submission.pk))
        tell_once(teacher, _("Reed %(reed)s waits for you") % {"reed": number}, [told])


def _whom_to_tell(submission: Submission) -> list[Member]:
    teachers = Member.objects.teaching().filter(studio=submission.studio_id)
    teachers = teachers.select_related("person", "studio")
    rounds = Submission.objects.filter(reed=submission.reed_id, looking__has_it=True)
    having = rounds.values("looking__member")
    return list(teachers.filter(pk__in=having)) or list(teachers)


@dataclass(frozen=True)
class Told:
    """One thing that is told: what makes it once, a sentence, where to see it."""

    about: str
    text: str
    path: str


def tell_once(to: Member, subject: str, told: Sequence[Told]) -> None:
    """Write one e-mail of what was not told yet; a notice of each is what makes it once.

    Nobody else's name, words or photos are in it.
    """
    if not to.person.email or to.left_at:
        return
    notices = [
        Notice.objects.get_or_create(to=to, about=one.about, defaults={"studio_id": to.studio_id})
        for one in told
    ]
    fresh = [one for one, (_notice, new) in zip(told, notices, strict=True) if new]
    if not fresh:
        return
    address = settings.SITE_ADDRESS.rstrip("/")
    parts = [f"{one.text}\n\n{address}{one.path}\n" for one in fresh]
    try:
        send_mail(subject, "\n".join(parts), None, [to.person.email])
    except Exception:
        Notice.objects.filter(pk__in=[notice.pk for notice, new in notices if new]).delete()
        raise  # it was not told: a later try may


# what was not told by e-mail stands on the desk and in the queue
GIVEN_UP = {"tell_of_round": None}
