"""The one place that turns database rows into the plain rows that a term's figures are made of."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from functools import cached_property
from typing import Any, TypeVar

from lessons.term.fetched import Fetched
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

    @property
    def readings(self) -> dict[str, list[ReadingInTerm]]:
        """The numbers taken in the term, by quantity in the registry's order, oldest first."""
        return self._measured[0]

    @property
    def noted(self) -> dict[str, list[NotedInTerm]]:
        """The words noted at the bench, by what they are of in the order of work, oldest first."""
        return self._measured[1]

    @cached_property
    def rated(self) -> list[RatedInTerm]:
        """The playing tests of the term, item by item, oldest first."""
        return [
            RatedInTerm(reed, number, owner, self._local(at), item, speaks, effort, _by_teacher(by, owner))
            for reed, number, owner, at, by, item, speaks, effort in self._fetched.ratings()
        ]

    @cached_property
    def found(self) -> list[FoundInTerm]:
        """What needed attention in the rounds sent in the term, oldest first."""
        return [
            FoundInTerm(reed, number, student, self._local(at), _about(finding), finding["outcome"])
            for reed, number, student, at, _, findings in self._rounds
            for finding in findings
            if finding["outcome"] in NEEDS_ATTENTION
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
        steps: dict[int, list[Step]] = defaultdict(list)
        for reed, kind, to_stage, at in self._fetched.events():
            steps[reed].append(Step(kind, to_stage, at))
        return dict(steps)

    def _reed(self, row: tuple[Any, ...]) -> ReedInTerm:
        pk, number, owner, made_at, stage, lot, lot_label, *made_of, sheet = row
        steps = self._steps.get(pk, [])
        came_to = furthest(stage, steps)
        told = (pk, number, owner, self._local(made_at), came_to.value, outcome(stage, came_to))
        return ReedInTerm._make((*told, lot, lot_label or "", *made_of, rested_days(steps), sheet))

    def _life(self, reed: ReedInTerm, tests: list[dt.datetime]) -> LifeInTerm | None:
        steps = self._steps.get(reed.reed, [])
        since, until = played_from(steps), ended_at(steps)
        if since is None:
            return None
        played = [self._local(at) for at in (since, *times_played(steps), *tests) if at >= since]
        days = len({at.date() for at in played})
        ended = until and self._local(until)
        return LifeInTerm(reed.reed, reed.number, reed.student, self._local(since), max(played), ended, days)

    @cached_property
    def _measured(self) -> tuple[dict[str, list[ReadingInTerm]], dict[str, list[NotedInTerm]]]:
        """Numbers and words, told apart: each row is one or the other."""
        numbers: dict[str, list[ReadingInTerm]] = defaultdict(list)
        words: dict[str, list[NotedInTerm]] = defaultdict(list)
        limits, known = SheetLimits(self.asking, self.known), set(self.known)
        for key, reed, number, owner, at, *measured in self._fetched.measured():
            value, u, word, method, stage, by, *made = measured
            told = (reed, number, owner, self._local(at))
            if value is None:
                words[key].append(NotedInTerm(*told, word))
            elif key in known:
                limit = limits.of(Asked(owner, stage, key, *made))
                by_teacher = by is not None and by != owner
                row = (*told, value, u, *limit, method, stage, by_teacher)
                numbers[key].append(ReadingInTerm(*row))
        return self._in_order(numbers), self._at_bench(words)

    def _in_order(self, by_key: dict[str, list[Row]]) -> dict[str, list[Row]]:
        return {key: by_key[key] for key in self.known if key in by_key}

    def _at_bench(self, words: dict[str, list[NotedInTerm]]) -> dict[str, list[NotedInTerm]]:
        return {key: rows for key, rows in self._in_order(words).items() if self.known[key].at_bench}


def _by_teacher(by: int | None, owner: int) -> bool:
    return by is not None and by != owner


def _about(finding: dict[str, Any]) -> str:
    """The quantity, else the item of the playing test, else the check it is about."""
    item = finding.get("choice")
    about: str = finding.get("quantity") or (item if item in PLAYING_TEST else finding["check"])
    return about
