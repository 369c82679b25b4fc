"""E-mail that a reed waits, once; done by the worker, after the commit. Run twice is the same as once."""

from __future__ import annotations

from django.conf import settings
from django.core.mail import send_mail
from django.utils.translation import gettext as _
from django_tasks import task

from lessons.sending.models import Notice, Submission
from studio.models import Member


@task()
def tell_of_round(submission_id: int) -> None:
    """Tell the teachers that a reed waits: the one who has it, else all of them."""
    rows = Submission.objects.waiting().filter(reed__taken_out_at__isnull=True).select_related("reed")
    submission = rows.filter(pk=submission_id).first()
    if submission is None:
        return  # answered or taken out meanwhile
    for teacher in _whom_to_tell(submission):
        tell_once(
            teacher,
            f"round {submission.pk}",
            _("A reed waits for you"),
            _("A reed waits for an answer in %(studio)s."),
            teacher.to("lessons:review", submission.pk),
        )


def _whom_to_tell(submission: Submission) -> list[Member]:
    teachers = Member.objects.teachers().filter(studio=submission.studio_id)
    teachers = teachers.select_related("person", "studio")
    rounds = Submission.objects.filter(reed=submission.reed_id, looking__has_it=True)
    having = rounds.values("looking__member")
    return list(teachers.filter(pk__in=having)) or list(teachers)


def tell_once(to: Member, about: str, subject: str, text: str, path: str) -> None:
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
