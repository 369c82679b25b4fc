"""The one place that turns database rows into the plain rows that a term's figures are made of."""

from __future__ import annotations

import datetime as dt
import json
from collections import defaultdict
from functools import cached_property, lru_cache
from typing import Any, TypeVar

from lessons.term.fetched import Fetched, Raw
from lessons.term.limits import Asked, SheetLimits
from lessons.term.lives import Step, ended_at, furthest, outcome, played_from, rested_days, times_played
from lessons.term.lookback.recurrence import SentInTerm
from lessons.term.lookback.rows import (
    FoundInTerm,
    LifeInTerm,
    NotedInTerm,
    RatedInTerm,
    ReadingInTerm,
    ReedInTerm,
    Wait,
    WorkInTerm,
)
from reeds.checks.findings import ASKS_AGAIN, FAULTS, Outcome
from reeds.numbers.quantity import Known
from reeds.numbers.words import PLAYING_TEST
from reeds.sheet.models.own import known_to
from studio.models import Member, Term

# what only asks for a number, or for a better one, is no fault that comes back
ASKS_FOR_A_NUMBER = frozenset({Outcome.TOO_CLOSE.value, Outcome.MISSING.value})
NEEDS_ATTENTION = frozenset(outcome.value for outcome in FAULTS | ASKS_AGAIN)

Row = TypeVar("Row")


class TermRows:
    """The rows of one term, for the member who asks: the studio's, or one student's.

    Model reeds and reeds taken out are nowhere among them. A kind of row is fetched when first asked for.
    """

    def __init__(self, term: Term, asking: Member, student: Member | None = None) -> None:
        self.term, self.asking, self.student = term, asking, student
        self._zone = term.studio.zone
        self._fetched = Fetched(term, asking, student)

    @cached_property
    def known(self) -> Known:
        """What the studio knows: the registry and its own."""
        return known_to(self.asking)

    @cached_property
    def reeds(self) -> list[ReedInTerm]:
        """The reeds made in the term, the first made first."""
        return [self._reed(row) for row in self._fetched.reeds()]

    @cached_property
    def lives(self) -> list[LifeInTerm]:
        """How long those of them have played of which it is known when they came to play."""
        tests: dict[int, list[dt.datetime]] = defaultdict(list)
        for rating in self.rated:
            tests[rating.reed].append(rating.at)
        found = (self._life(reed, tests.get(reed.reed, [])) for reed in self.reeds)
        return [life for life in found if life]

    @cached_property
    def readings(self) -> dict[str, list[ReadingInTerm]]:
        """The numbers taken in the term, by quantity in the registry's order, oldest first."""
        by_key: dict[str, list[ReadingInTerm]] = defaultdict(list)
        limits, known, zone = SheetLimits(self.asking, self.known), set(self.known), self._zone
        for key, reed, number, owner, at, value, u, method, stage, by, *made in self._fetched.numbers():
            if key in known:
                limit = limits[Asked._make((owner, stage, key, *made))]
                told = (reed, number, owner, at.astimezone(zone), value, u, *limit)
                by_key[key].append(ReadingInTerm._make((*told, method, stage, _by_teacher(by, owner))))
        return self._in_order(by_key)

    @cached_property
    def noted(self) -> dict[str, list[NotedInTerm]]:
        """The words noted at the bench, by what they are of in the order of work, oldest first."""
        by_key: dict[str, list[NotedInTerm]] = defaultdict(list)
        for key, reed, number, owner, at, word in self._fetched.words():
            by_key[key].append(NotedInTerm(reed, number, owner, self._local(at), word))
        return {key: rows for key, rows in self._in_order(by_key).items() if self.known[key].at_bench}

    @cached_property
    def rated(self) -> list[RatedInTerm]:
        """The playing tests of the term, item by item, oldest first."""
        told, then, local = [], None, None
        for reed, number, owner, at, by, item, speaks, effort in self._fetched.ratings():
            if at != then:  # the items of one test share its time
                then, local = at, self._local(at)
            row = (reed, number, owner, local, item, speaks, effort, _by_teacher(by, owner))
            told.append(RatedInTerm._make(row))
        return told

    @cached_property
    def found(self) -> list[FoundInTerm]:
        """What needed attention in the rounds sent in the term, oldest first."""
        return [
            FoundInTerm(reed, number, student, self._local(at), about, outcome)
            for reed, number, student, at, _, findings in self._rounds
            for about, outcome in _needing_attention(findings)
        ]

    @cached_property
    def waits(self) -> list[Wait]:
        """The rounds sent in the term, oldest first."""
        return [
            Wait(student, self._local(sent), answered and self._local(answered))
            for _, _, student, sent, answered, _ in self._rounds
        ]

    @cached_property
    def sent(self) -> frozenset[int]:
        """The reeds sent at least once in the term."""
        return frozenset(row[0] for row in self._rounds)

    @cached_property
    def first_sent(self) -> list[SentInTerm]:
        """Each reed sent in the term, when it was sent in it for the first time; oldest first."""
        firsts: dict[int, SentInTerm] = {}
        for reed, _, student, sent, _, _ in self._rounds:
            firsts.setdefault(reed, SentInTerm(reed, student, self._local(sent)))
        return list(firsts.values())

    @cached_property
    def work(self) -> list[WorkInTerm]:
        """What was set in the term, or was due in it, the first set first."""
        return [
            WorkInTerm(student, self._local(set_at), due_on, done and self._local(done))
            for student, set_at, due_on, done in self._fetched.work()
        ]

    def _local(self, at: dt.datetime) -> dt.datetime:
        return at.astimezone(self._zone)

    @cached_property
    def _rounds(self) -> list[tuple[Any, ...]]:
        return list(self._fetched.rounds())

    @cached_property
    def _steps(self) -> dict[int, list[Step]]:
        return _by_reed(self._fetched.steps())

    @cached_property
    def _played(self) -> dict[int, list[Step]]:
        return _by_reed(self._fetched.played())

    def _reed(self, row: tuple[Any, ...]) -> ReedInTerm:
        pk, number, owner, made_at, stage, lot, lot_label, *made_of, sheet = row
        steps = self._steps.get(pk, [])
        came_to = furthest(stage, steps)
        told = (pk, number, owner, self._local(made_at), came_to.value, outcome(stage, came_to))
        return ReedInTerm._make((*told, lot, lot_label or "", *made_of, rested_days(steps), sheet))

    def _life(self, reed: ReedInTerm, tests: list[dt.datetime]) -> LifeInTerm | None:
        steps = [*self._steps.get(reed.reed, []), *self._played.get(reed.reed, [])]
        since, until = played_from(steps), ended_at(steps)
        if since is None:
            return None
        played = [self._local(at) for at in (since, *times_played(steps), *tests) if at >= since]
        days = len({at.date() for at in played})
        ended = until and self._local(until)
        return LifeInTerm(reed.reed, reed.number, reed.student, self._local(since), max(played), ended, days)

    def _in_order(self, by_key: dict[str, list[Row]]) -> dict[str, list[Row]]:
        return {key: by_key[key] for key in self.known if key in by_key}


def _by_reed(events: Raw) -> dict[int, list[Step]]:
    steps: dict[int, list[Step]] = defaultdict(list)
    for reed, *event in events:
        steps[reed].append(Step(*event))
    return steps


def _by_teacher(by: int | None, owner: int) -> bool:
    return by is not None and by != owner


@lru_cache(maxsize=1_000)
def _needing_attention(findings: str) -> tuple[tuple[str, str], ...]:
    """What they are about that need attention, and how it came out.

    A sent round's findings are long and stay as they are: the same text is read once.
    """
    rows = json.loads(findings)
    return tuple((_about(row), row["outcome"]) for row in rows if row["outcome"] in NEEDS_ATTENTION)


def _about(finding: dict[str, Any]) -> str:
    """The quantity, else the item of the playing test, else the check it is about."""
    item = finding.get("choice")
    about: str = finding.get("quantity") or (item if item in PLAYING_TEST else finding["check"])
    return about
