"""What was said back and nobody of one's own side has opened yet, reed by reed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import QuerySet

from lessons.answering.models import Reply
from studio.access import Seer
from studio.models import NAMING, Member, called
from studio.prepared import prepared


class SaidBack(NamedTuple):
    """One reply, as plain as it is read: a teacher may come back to hundreds."""

    submission_id: int
    reed_id: int
    number: int
    words: str
    student: int
    erased_at: dt.datetime | None
    name: str
    username: str


@dataclass(frozen=True)
class Unread:
    """The replies under one round that are not read yet, the newest last."""

    replies: list[SaidBack]

    @property
    def pk(self) -> int:
        """The round's."""
        return self.replies[0].submission_id

    @property
    def reed_id(self) -> int:
        return self.replies[0].reed_id

    @property
    def number(self) -> int:
        """The reed's."""
        return self.replies[0].number

    @property
    def who(self) -> str:
        """What its student is called."""
        return called(*self.replies[0][4:])

    @property
    def words(self) -> str:
        return self.replies[0].words


def unread_replies(member: Member) -> list[Unread]:
    """Return the rounds under which this member's side was told something, the longest unread first."""
    under: dict[int, list[SaidBack]] = {}
    for row in _unread(member):
        under.setdefault(row[0], []).append(SaidBack(*row))
    return [Unread(replies) for replies in under.values()]


@prepared
def _unread(member: Seer) -> QuerySet[Reply, tuple[Any, ...]]:
    rows = Reply.objects.visible_to(member).unread_by(member)
    named = [f"submission__student__{name}" for name in NAMING]
    of_reed = ("submission__reed", "submission__reed__number")
    return rows.values_list("submission", *of_reed, "words", "submission__student", *named)
