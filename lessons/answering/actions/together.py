"""Several alike answered at once: one answer, to each reed with its own number in the words."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.answering.actions.answer import answer_of, put_out
from lessons.answering.models import Answer, Looking, Written
from lessons.answering.tasks import soon, tell_of_answer
from lessons.sending.models import Submission
from studio.models import Member

MOST = 24


@dataclass(frozen=True)
class NotSent:
    """A round that was left out, and why."""

    submission: Submission
    why: str


def rounds_of(teacher: Member, pks: Sequence[int]) -> list[Submission]:
    """Return these rounds in this order, also of reeds taken out meanwhile, which are left out.

    Raises Submission.DoesNotExist where one is no round that was sent in this studio, or they are too many.
    """
    wanted = list(dict.fromkeys(pks))
    rows = Submission.objects.sent().filter(studio=teacher.studio_id)
    found = rows.select_related("reed", "student__person").in_bulk(wanted)
    if len(found) != len(wanted) or len(wanted) > MOST:
        raise Submission.DoesNotExist
    return [found[pk] for pk in wanted]


def why_not(round_: Submission, teacher: Member, written: Written | None = None) -> str:
    """Say why a round is left out of what is answered together, '' if it is not.

    `written` is what is about to be sent; without it any begun answer of the teacher's own is a reason.
    """
    if round_.reed.taken_out_at:
        return _("the student has taken it out")
    if round_.answered_at:
        return _("it was answered meanwhile")
    if Submission.objects.waiting().filter(reed=round_.reed_id, round__gt=round_.round).exists():
        return _("a newer round of it has come")
    other = Looking.objects.filter(submission=round_, has_it=True).exclude(member=teacher)
    if having := other.select_related("member__person").first():
        return _("%(name)s has it") % {"name": having.member}
    draft = Answer.objects.filter(submission=round_, author=teacher, sent_at=None).first()
    if draft and draft.written not in (Written(), Written(**draft.template), written):
        return _("you have begun an answer of its own")
    return ""


def not_sent(teacher: Member, pks: Sequence[int]) -> list[NotSent]:
    """Return those of these rounds that were left out, and why; what is no round here is passed over."""
    rows = Submission.objects.sent().filter(studio=teacher.studio_id, pk__in=pks)
    told = [NotSent(row, why_not(row, teacher)) for row in rows.select_related("reed", "student__person")]
    return [one for one in told if one.why]


@transaction.atomic
def send_together(answer: Answer, others: Iterable[Submission]) -> list[NotSent]:
    """Send an answer, and the same to other rounds, each with its own reed's number; return who was left out.

    What was answered, taken out or taken on by another teacher meanwhile is left out. Marks stay with the
    round that was marked. The students are told of all of it in one e-mail each.
    """
    locked = Answer.objects.select_for_update().select_related("submission__reed", "author").get(pk=answer.pk)
    if locked.sent_at:
        return []  # a double tap
    now, key = timezone.now(), uuid.uuid4()
    put_out(locked, now, key)
    sent, left = [locked], []
    for round_ in _locked(others):
        if why := why_not(round_, locked.author, locked.written):
            left.append(NotSent(round_, why))
        else:
            sent.append(_copied(locked, round_, now, key))
    _tell(sent, now)
    return left


def _locked(rounds: Iterable[Submission]) -> list[Submission]:
    rows = Submission.objects.select_for_update().select_related("reed", "student__person")
    return [rows.get(pk=row.pk) for row in rounds]


def _copied(answer: Answer, round_: Submission, now: dt.datetime, key: uuid.UUID) -> Answer:
    copy = answer_of(round_, answer.author)
    Answer.objects.filter(pk=copy.pk).update(**vars(answer.written), saved_at=now)
    copy.refresh_from_db()
    put_out(copy, now, key)
    return copy


def _tell(sent: Sequence[Answer], now: dt.datetime) -> None:
    """Have one task a student tell what was sent to them in this sitting."""
    for pk in {one.submission.student_id: one.pk for one in sent}.values():
        tell = partial(soon(tell_of_answer).enqueue, pk, now.isoformat())
        transaction.on_commit(tell)
