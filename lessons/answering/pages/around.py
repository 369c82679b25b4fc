"""Which other teachers are at a round: looking at it now, having it, having answered it."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import QuerySet

from lessons.answering.models import Answer, Looking
from lessons.sending.models import Submission
from studio.access import Seer
from studio.models import NAMING, Member
from studio.prepared import prepared


@dataclass(frozen=True)
class Around:
    """Everybody at one round, as one of the teachers is told."""

    present: list[Looking]
    having: Looking | None
    answered: list[Answer]

    @property
    def state(self) -> str:
        """The same as long as there is nothing new to tell."""
        having = self.having.pk if self.having else 0
        return f"{[one.pk for one in self.present]} {having} {[one.pk for one in self.answered]}"


def around(submission: Submission, member: Member, by_others: list[Answer] | None = None) -> Around:
    """Return who else is at a round; `by_others` are their answers where a page has them."""
    looking = _looking(member, submission.pk)
    return Around(
        present=[row for row in looking if row.is_present and row.member_id != member.pk],
        having=next((row for row in looking if row.has_it), None),
        answered=_answered(member, submission.pk) if by_others is None else by_others,
    )


@prepared
def _looking(member: Seer, pk: int) -> QuerySet[Looking]:
    rows = Looking.objects.visible_to(member).filter(submission=pk).select_related("member__person")
    return rows.only("seen_at", "has_it", *(f"member__{name}" for name in NAMING)).order_by("pk")


@prepared
def _answered(member: Seer, pk: int) -> QuerySet[Answer]:
    rows = Answer.objects.visible_to(member).sent().filter(submission=pk).exclude(author=member.pk)
    return rows.select_related("author__person").only("sent_at", *(f"author__{name}" for name in NAMING))
