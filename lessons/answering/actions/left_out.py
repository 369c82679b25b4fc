"""Several alike: which rounds were chosen, and which are left out of what is sent together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from lessons.answering.models import Answer, Looking, Written
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
    return _("you have begun an answer of its own") if draft and _is_its_own(draft, written) else ""


def _is_its_own(draft: Answer, written: Written | None) -> bool:
    """Whether something would be lost by putting other words, and another note, in its place."""
    spoken = draft.voice_id is not None and draft.together is None
    return spoken or draft.written not in (Written(), Written(**draft.template), written)


def not_sent(teacher: Member, pks: Sequence[int]) -> list[NotSent]:
    """Return those of these rounds that were left out, and why; what is no round here is passed over."""
    rows = Submission.objects.sent().filter(studio=teacher.studio_id, pk__in=pks)
    told = [NotSent(row, why_not(row, teacher)) for row in rows.select_related("reed", "student__person")]
    return [one for one in told if one.why]
