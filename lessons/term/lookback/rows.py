"""What the figures of a term are made of: plain rows, already narrowed to one student or one studio.

`reed` and `student` are what the database calls them, `number` is the reed's number as people say it. Times
carry the studio's zone. Numbers are in their quantity's unit.
"""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

PLAYED, GIVEN_UP, OPEN = "played", "given_up", "open"


class ReedInTerm(NamedTuple):
    """A reed made in the term; model reeds and those taken out are left out.

    `furthest` is a stage, giving up left aside; `outcome` is PLAYED (it came to stage playing ever), GIVEN_UP
    (without having played) or OPEN. `rested_days` runs from tied to first scraped, None where that is not
    known. `sheet` is the version it follows, `lot` its cane; lengths in mm.
    """

    reed: int
    number: int
    student: int
    made_at: dt.datetime
    furthest: str
    outcome: str
    lot: int | None
    lot_label: str
    staple: str
    staple_length: float | None
    shape: str
    flexibility: str
    rested_days: float | None
    sheet: int


class ReadingInTerm(NamedTuple):
    """One number taken in the term, beside the limits of its own reed's sheet with its player's offsets."""

    reed: int
    number: int
    student: int
    at: dt.datetime
    value: float
    u: float
    low: float | None
    aim: float | None
    high: float | None
    method: str
    stage: str
    by_teacher: bool


class RatedInTerm(NamedTuple):
    """One item of a playing test: how it spoke, how hard it was to blow, 1 to 5; either may be left out."""

    reed: int
    number: int
    student: int
    at: dt.datetime
    item: str
    speaks: int | None
    effort: int | None
    by_teacher: bool


class FoundInTerm(NamedTuple):
    """One finding of a round sent in the term that needs attention: what was looked at, how it came out."""

    reed: int
    number: int
    student: int
    at: dt.datetime
    about: str
    outcome: str


class LifeInTerm(NamedTuple):
    """How long a reed made in the term has played.

    `played_last` is the last time that says so: a playing test, a note that it was played, or `played_from`
    itself. `ended_at` is None while it still plays. `days_played` counts the days with such a note.
    """

    reed: int
    number: int
    student: int
    played_from: dt.datetime
    played_last: dt.datetime
    ended_at: dt.datetime | None
    days_played: int


class NotedInTerm(NamedTuple):
    """What was noted of one thing on one reed: the word chosen."""

    reed: int
    number: int
    student: int
    at: dt.datetime
    word: str


class Wait(NamedTuple):
    """One round: when it was sent and, unless it still waits, when it was answered."""

    student: int
    sent_at: dt.datetime
    answered_at: dt.datetime | None

    @property
    def days(self) -> float | None:
        """Days until the answer; None while it waits."""
        if self.answered_at is None:
            return None
        return (self.answered_at - self.sent_at) / dt.timedelta(days=1)


class WorkInTerm(NamedTuple):
    """Something set: in the term, or due in it."""

    student: int
    set_at: dt.datetime
    due_on: dt.date | None
    done_at: dt.datetime | None
