"""Which other teachers are at a round: looking at it now, having it, having answered it."""

from __future__ import annotations

from dataclasses import dataclass

from lessons.answering.models import Answer, Looking
from lessons.sending.models import Submission
from studio.models import Member


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


def around(submission: Submission, member: Member) -> Around:
    """Return who else is at a round besides the member."""
    rows = Looking.objects.visible_to(member).filter(submission=submission).select_related("member__person")
    looking = list(rows.order_by("pk"))
    answers = Answer.objects.visible_to(member).sent().filter(submission=submission)
    return Around(
        present=[row for row in looking if row.is_present and row.member_id != member.pk],
        having=next((row for row in looking if row.has_it), None),
        answered=list(answers.exclude(author=member).select_related("author__person")),
    )
