"""What a guardian finds of each of their children: rounds with their answers, letters, the consent."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Prefetch

from lessons.answering.models import Answer
from lessons.letter.models import Letter
from lessons.sending.models import Submission
from reeds.reed.models.reed import Reed
from studio.models import Member

NEWEST = 12


@dataclass(frozen=True)
class ChildHere:
    """One child, their newest rounds with the answers that were sent, and their letters."""

    child: Member
    rounds: list[Submission]
    letters: list[Letter]
    reeds: int


def children_of(guardian: Member) -> list[ChildHere]:
    """Return what lies before a guardian, child by child."""
    return [_of(child, guardian) for child in guardian.wards.select_related("person")]


def _of(child: Member, guardian: Member) -> ChildHere:
    said = Prefetch("answers", Answer.objects.visible_to(guardian).sent(), to_attr="said")
    rounds = Submission.objects.visible_to(guardian).sent().filter(student=child)
    newest = rounds.select_related("reed").prefetch_related(said).order_by("-sent_at", "-pk")
    return ChildHere(
        child=child,
        rounds=list(newest[:NEWEST]),
        letters=list(Letter.objects.visible_to(guardian).filter(student=child)),
        reeds=Reed.objects.visible_to(guardian).filter(owner=child).count(),
    )
