"""Telling that a reed waits, once; done by the worker, after the commit. Run twice is the same as once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial

from django.conf import settings
from django.core.mail import send_mail
from django.utils.translation import gettext as _
from django_tasks import task

from lessons.sending.models import Notice, Submission, unread_elsewhere, unread_of
from studio.models import Member
from studio.push.phones import Phone
from studio.push.sending import NotTaken, send
from studio.reading import written_for
from studio.sessions import phones_signed_in
from studio.told_by import TellBy


@task(queue_name="mail")
def tell_of_round(submission_id: int) -> None:
    """Tell the teachers that a reed waits: the one who has it, else all of them."""
    rows = Submission.objects.waiting().filter(reed__taken_out_at__isnull=True).select_related("reed")
    submission = rows.filter(pk=submission_id).first()
    if submission is None:
        return  # answered or taken out meanwhile
    tell_each(partial(_tell_of_round, submission, teacher) for teacher in _whom_to_tell(submission))


def _tell_of_round(submission: Submission, teacher: Member) -> None:
    where = {"reed": submission.reed.number, "studio": teacher.studio}
    with written_for(teacher.person):
        text = _("Reed %(reed)s waits for an answer in %(studio)s.") % where
        told = Told(f"round {submission.pk}", text, teacher.to("lessons:review", submission.pk))
        subject = _("Reed %(reed)s waits for you") % where
        tell_once(teacher, subject, [told], _("A reed waits for an answer."))


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


def tell_each(tells: Iterable[Callable[[], None]]) -> None:
    """Tell one after the other, whatever becomes of those before; then fail with what failed first."""
    failed = []
    for tell in tells:
        try:
            tell()
        except Exception as error:
            failed.append(error)
    if failed:
        raise failed[0]


def tell_once(to: Member, subject: str, told: Sequence[Told], aloud: str) -> None:
    """Tell what was not told yet the way its person chose; a notice of each is what makes it once.

    Nobody else's name, words or photos are in it. A device, which may lie open before others, is told only
    `aloud`, of no reed. Where no device takes it any more, it goes by e-mail.
    """
    if to.left_at or to.person.told_by == TellBy.NEITHER:
        return
    phones = phones_signed_in(to.person) if to.person.told_by == TellBy.PHONE else []
    if not phones and not to.person.email:
        return
    notices = [noted(to, one.about) for one in told]
    fresh = [one for one, (_notice, new) in zip(told, notices, strict=True) if new]
    if not fresh:
        return
    try:
        if not _on_phones(to, phones, fresh, aloud) and to.person.email:
            _by_mail(to, subject, fresh)
    except Exception:
        Notice.objects.filter(pk__in=[notice.pk for notice, new in notices if new]).delete()
        raise  # it was not told: a later try may


def noted(to: Member, about: str) -> tuple[Notice, bool]:
    """Note that somebody was told of something; and whether that is new."""
    return Notice.objects.get_or_create(studio_id=to.studio_id, to=to, about=about)


def _by_mail(to: Member, subject: str, told: Sequence[Told]) -> None:
    address = settings.SITE_ADDRESS.rstrip("/")
    parts = [f"{one.text}\n\n{address}{one.path}\n" for one in told]
    send_mail(subject, "\n".join(parts), None, [to.person.email])


def _on_phones(to: Member, phones: Sequence[Phone], told: Sequence[Told], aloud: str) -> bool:
    """Tell each device, whatever becomes of the others; whether any was. What one refuses is tried again."""
    took, refused = [], []
    for phone in phones:
        try:
            took.append(_on_phone(to, phone, told, aloud))
        except NotTaken as error:
            refused.append(error)
    if refused:
        raise refused[0]
    return any(took)


def _on_phone(to: Member, phone: Phone, told: Sequence[Told], aloud: str) -> bool:
    """Tell one device once; whether it was told, now or before."""
    notice, is_new = noted(to, f"{told[-1].about} on {phone}")
    if not is_new:
        return True
    try:
        is_there = send(phone, _aloud(to, told, aloud), f"studio-{to.studio_id}")
    except NotTaken:
        notice.delete()
        raise
    if not is_there:
        notice.delete()
    return is_there


def _aloud(to: Member, told: Sequence[Told], aloud: str) -> dict[str, object]:
    """Return what a device is told: which studio, that there is something, and where."""
    return {
        "title": str(to.studio),
        "body": aloud,
        "path": told[0].path if len(told) == 1 else to.to("home"),
        "tag": f"studio-{to.studio_id}",
        "unread": unread_of(to),
        "elsewhere": unread_elsewhere(to),
    }


# what could not be told stands on the desk and in the queue
GIVEN_UP = {"tell_of_round": None}
