"""What the figures of a term are made of: plain rows, already narrowed to one student or one studio."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True)
class SentReed:
    """A reed that was sent at least once in the term, with what was found in any of its rounds.

    `kinds` are pairs (what was looked at, outcome), each once however often it was found.
    """

    reed: int
    kinds: frozenset[tuple[str, str]]


@dataclass(frozen=True)
class ReadingInTerm:
    """One number of the term beside the limits of its own reed's sheet; all in the quantity's unit."""

    reed: int
    at: dt.datetime
    value: float
    u: float
    low: float | None
    aim: float | None
    high: float | None


@dataclass(frozen=True)
class NotedInTerm:
    """What was noted of one thing on one reed: the word chosen."""

    reed: int
    word: str


@dataclass(frozen=True)
class Wait:
    """One round: when it was sent and, unless it still waits, when it was answered."""

    sent_at: dt.datetime
    answered_at: dt.datetime | None

    @property
    def days(self) -> float | None:
        """Days until the answer; None while it waits."""
        if self.answered_at is None:
            return None
        return (self.answered_at - self.sent_at) / dt.timedelta(days=1)
