"""Reeds that wait, each in its place: rounds of one reed stand as one, and the greatest need comes first."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Container, Iterable
from typing import NamedTuple

from lessons.sending.need import Waiting, points


class Round(NamedTuple):
    """What is read of a round that waits."""

    pk: int
    reed: int
    reed_number: int
    owner: int
    batch: str
    stage: str
    round: int
    sent_at: dt.datetime
    question: str
    need: int
    leaks: bool
    next_lesson: dt.datetime | None
    got_more: bool


class Placed(NamedTuple):
    """A reed that waits: its newest round, and what counts of all of them."""

    newest: Round
    waiting: Waiting
    points: int

    @property
    def pk(self) -> int:
        return self.newest.pk


def placed(rounds: Iterable[Round], said_back: Container[int], now: dt.datetime) -> list[Placed]:
    """Return the reeds of rounds that wait, the longest waiting first among equals.

    Of a reed counts since when it waits, whether something is asked and whether it is among those of which
    something was said back; of its newest round what was found and whether something came later.
    """
    of_reeds: dict[int, list[Round]] = defaultdict(list)
    for one in rounds:
        of_reeds[one.reed].append(one)
    reeds = [_placed(rows, reed in said_back, now) for reed, rows in of_reeds.items()]
    return sorted(reeds, key=lambda it: (-it.points, it.waiting.waits_since, it.pk))


def _placed(rows: list[Round], said_back: bool, now: dt.datetime) -> Placed:
    # mostly there is one
    newest = rows[0] if len(rows) == 1 else max(rows, key=lambda one: one.round)
    waiting = Waiting(
        need=newest.need,
        leaks=newest.leaks,
        said_back=said_back,
        asks=any([one.question for one in rows]),  # noqa: C419  # no generator for each of hundreds
        got_more=newest.got_more,
        waits_since=min([one.sent_at for one in rows]),
        next_lesson=newest.next_lesson,
    )
    return Placed(newest, waiting, points(waiting, now))
