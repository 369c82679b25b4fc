"""What was said back and nobody of one's own side has opened yet, reed by reed."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import QuerySet

from lessons.answering.models import Reply
from lessons.sending.models import Submission
from studio.access import Seer
from studio.models import NAMING, Member
from studio.prepared import prepared


@dataclass(frozen=True)
class Unread:
    """The replies under one round that are not read yet, the newest last."""

    submission: Submission
    replies: list[Reply]

    def is_of(self, reed_pk: int) -> bool:
        """Whether it is about this reed."""
        return self.submission.reed_id == reed_pk


def unread_replies(member: Member) -> list[Unread]:
    """Return the rounds under which this member's side was told something, the longest unread first."""
    under: dict[int, Unread] = {}
    for reply in _unread(member):
        under.setdefault(reply.submission_id, Unread(reply.submission, [])).replies.append(reply)
    return list(under.values())


@prepared
def _unread(member: Seer) -> QuerySet[Reply]:
    rows = Reply.objects.visible_to(member).unread_by(member)
    named = [f"submission__student__{name}" for name in NAMING]
    told = rows.select_related("submission__reed", "submission__student__person")
    return told.only("words", "submission__reed__number", *named)
