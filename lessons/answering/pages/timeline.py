"""What a reed's timeline tells of lessons: the rounds that were sent and the answers to them."""

from __future__ import annotations

from collections.abc import Iterator

from lessons.answering.models import Answer
from lessons.sending.models import Submission
from reeds.reed.facts import RowsOf
from reeds.timeline.pages import Moment
from studio.models import Member


def rounds_and_answers(of: RowsOf, member: Member) -> Iterator[Moment]:
    """Yield each round sent and each answer sent that this member may see."""
    rounds = Submission.objects.visible_to(member).sent().filter(reed=of.reed)
    for row in rounds.select_related("student__person").defer("draft", "typed_at", "findings"):
        if row.sent_at:
            yield Moment(
                at=row.sent_at, template="lessons/answering/moments/round.html", what=row, by=row.student
            )
    answers = Answer.objects.visible_to(member).sent().filter(submission__reed=of.reed)
    told = ("submission__draft", "submission__typed_at", "submission__findings")
    for answer in answers.select_related("author__person", "submission").defer(*told):
        if answer.sent_at:
            yield Moment(
                at=answer.sent_at,
                template="lessons/answering/moments/answer.html",
                what=answer,
                by=answer.author,
            )
