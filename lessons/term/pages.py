"""The figures of a term as its page tells them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _

from lessons.term.charts import Chart, chart
from lessons.term.lookback.figures import Answers, Found, answers, chosen, found, off_aim, reached
from lessons.term.lookback.rates import Share, share
from lessons.term.lookback.rows import GIVEN_UP, NotedInTerm, ReadingInTerm
from lessons.term.lookback.spread import Spread
from lessons.term.rows import TermRows
from reeds.checks.findings import Outcome
from reeds.numbers.quantity import Known, Quantity
from reeds.numbers.words import PLAYING_TEST, Speaks, Stage
from studio.models import Member, Term

ASKS_FOR_A_NUMBER = frozenset({Outcome.TOO_CLOSE.value, Outcome.MISSING.value})
ON_THE_WAY = [stage for stage in Stage if stage is not Stage.GIVEN_UP]


@dataclass(frozen=True)
class QuantityInTerm:
    """One quantity over the term."""

    quantity: Quantity
    readings: list[ReadingInTerm]
    off_aim: Spread
    within: Share
    chart: Chart


@dataclass(frozen=True)
class NotedQuantity:
    """One thing seen over the term: for how many of its `n` reeds each choice was noted last."""

    quantity: Quantity
    shares: list[tuple[str, Share]]

    @property
    def n(self) -> int:
        return self.shares[0][1].n


@dataclass(frozen=True)
class Played:
    """How one item of the playing test was rated: a count for each step, from 1 to 5."""

    name: str
    counts: list[tuple[str, int]]
    n: int


class TermFigures:
    """The figures of one term, for the member who asks: the studio's, or one student's."""

    def __init__(self, term: Term, asking: Member, student: Member | None = None) -> None:
        self.term, self.rows = term, TermRows(term, asking, student)

    @property
    def known(self) -> Known:
        """What the studio knows: the registry and its own."""
        return self.rows.known

    @property
    def made(self) -> int:
        return len(self.rows.reeds)

    @property
    def rounds(self) -> int:
        return len(self.rows.waits)

    @property
    def sent(self) -> int:
        """How many reeds were sent at least once."""
        return len(self.rows.sent)

    @cached_property
    def reached(self) -> list[tuple[Stage, Share]]:
        """How many of the reeds made in the term came to each stage or beyond."""
        furthest = [reed.furthest for reed in self.rows.reeds]
        return [(Stage(stage), count) for stage, count in reached(furthest, ON_THE_WAY)]

    @cached_property
    def given_up(self) -> Share:
        """Of the reeds made, those given up without having played."""
        return share(sum(reed.outcome == GIVEN_UP for reed in self.rows.reeds), self.made)

    @cached_property
    def _found(self) -> list[Found]:
        return found(self.rows.found, self.rows.sent)

    @property
    def found(self) -> list[Found]:
        """What was wrong with a reed or with its numbers."""
        return [row for row in self._found if row.outcome not in ASKS_FOR_A_NUMBER]

    @property
    def open_questions(self) -> list[Found]:
        """What only asked for a number, or for a better one."""
        return [row for row in self._found if row.outcome in ASKS_FOR_A_NUMBER]

    @cached_property
    def answers(self) -> Answers:
        return answers(self.rows.waits)

    @cached_property
    def quantities(self) -> list[QuantityInTerm]:
        """Each quantity measured in the term, in the registry's order."""
        return [self._in_term(self.known[key], readings) for key, readings in self.rows.readings.items()]

    def _in_term(self, quantity: Quantity, readings: list[ReadingInTerm]) -> QuantityInTerm:
        limited = [r for r in readings if r.low is not None or r.high is not None]
        inside = sum(_inside(reading) for reading in limited)
        drawn = chart(readings, self.term.starts_on, self.term.ends_on)
        return QuantityInTerm(quantity, readings, off_aim(readings), share(inside, len(limited)), drawn)

    @cached_property
    def noted(self) -> list[NotedQuantity]:
        """Each thing noted at the bench in the term, in the order of work."""
        return [_noted(self.known[key], rows) for key, rows in self.rows.noted.items()]

    @cached_property
    def played(self) -> list[Played]:
        """The playing test's ratings, item by item."""
        counts: dict[str, list[int]] = defaultdict(lambda: [0] * len(Speaks))
        for rating in self.rows.rated:
            if rating.speaks is not None:
                counts[rating.item][rating.speaks - 1] += 1
        return [_played(item, counts[item]) for item in PLAYING_TEST if item in counts]


def _inside(reading: ReadingInTerm) -> bool:
    above_low = reading.low is None or reading.value >= reading.low
    return above_low and (reading.high is None or reading.value <= reading.high)


def _noted(quantity: Quantity, rows: list[NotedInTerm]) -> NotedQuantity:
    labels = dict(quantity.choices)
    return NotedQuantity(quantity, [(labels[word], it) for word, it in chosen(rows, list(labels))])


def _played(item: str, counts: list[int]) -> Played:
    named = [(_(step.label), n) for step, n in zip(Speaks, counts, strict=True)]
    return Played(PLAYING_TEST[item], named, sum(counts))
