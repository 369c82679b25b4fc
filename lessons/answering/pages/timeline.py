"""What a reed's timeline tells of lessons: the rounds that were sent and the answers to them."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import QuerySet

from lessons.answering.models import Answer
from lessons.sending.models import Submission
from reeds.reed.facts import RowsOf
from reeds.timeline.pages import Moment
from studio.access import Seer
from studio.models import NAMING, Member
from studio.prepared import prepared


def rounds_and_answers(of: RowsOf, member: Member) -> Iterator[Moment]:
    """Yield each round sent and each answer sent that this member may see."""
    for row in _rounds(member, of.reed.pk):
        if row.sent_at:
            yield Moment(
                at=row.sent_at, template="lessons/answering/moments/round.html", what=row, by=row.student
            )
    for answer in _answers(member, of.reed.pk):
        if answer.sent_at:
            yield Moment(
                at=answer.sent_at,
                template="lessons/answering/moments/answer.html",
                what=answer,
                by=answer.author,
            )


@prepared
def _rounds(member: Seer, reed: int) -> QuerySet[Submission]:
    rows = Submission.objects.visible_to(member).sent().filter(reed=reed).select_related("student__person")
    named = [f"student__{name}" for name in NAMING]
    return rows.only("round", "sent_at", "answered_at", "question", *named)


@prepared
def _answers(member: Seer, reed: int) -> QuerySet[Answer]:
    rows = Answer.objects.visible_to(member).sent().filter(submission__reed=reed)
    named = [f"author__{name}" for name in NAMING]
    told = ("sent_at", "decision", "next_step", "voice", "demonstration", "submission__round")
    return rows.select_related("author__person", "submission").only(*told, *named)
