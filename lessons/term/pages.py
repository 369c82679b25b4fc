"""The figures of a term as its page tells them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property

from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.term.lookback.apart import Apart, RatedAlike, two_ears, two_people, two_tools
from lessons.term.lookback.figures import (
    Answers,
    Found,
    WorkDone,
    answers,
    chosen,
    found,
    reached,
    work_done,
)
from lessons.term.lookback.lasting import Lasting, lasting
from lessons.term.lookback.moving import Moving, moving, ratings_moving
from lessons.term.lookback.rates import Share, share
from lessons.term.lookback.recurrence import Recurring, recurring
from lessons.term.lookback.rows import GIVEN_UP, NotedInTerm, ReadingInTerm
from lessons.term.lookback.yields import Yield, came_to_play
from lessons.term.rows import ASKS_FOR_A_NUMBER, TermRows
from reeds.numbers.quantity import Known, Quantity
from reeds.numbers.words import PLAYING_TEST, Speaks, Stage
from studio.models import Member, Term

ON_THE_WAY = [stage for stage in Stage if stage is not Stage.GIVEN_UP]


@dataclass(frozen=True)
class QuantityInTerm:
    """One quantity over the term; each figure is reckoned when it is first asked for."""

    quantity: Quantity
    readings: list[ReadingInTerm]

    @cached_property
    def moving(self) -> Moving:
        """Median and trend, each reed once."""
        return moving(self.readings)

    @cached_property
    def two_people(self) -> Apart:
        """The teacher's numbers less the player's."""
        return two_people(self.readings)

    @cached_property
    def two_tools(self) -> Apart:
        """The photo's numbers less those by ruler or caliper."""
        return two_tools(self.readings)


@dataclass(frozen=True)
class RatedItem:
    """One item of the playing test over the term; `alike` where teacher and player rated the same reed."""

    name: str
    moving: Moving | None
    alike: RatedAlike | None


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
    def is_empty(self) -> bool:
        """Whether nothing was made, sent or measured in the term."""
        return not (self.rows.reeds or self.rows.waits or self.rows.readings)

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

    @cached_property
    def found(self) -> list[Recurring]:
        """What was wrong with a reed or with its numbers, and in which thirds of the term."""
        faults = [row for row in self.rows.found if row.outcome not in ASKS_FOR_A_NUMBER]
        return recurring(faults, self.rows.first_sent, *self.term.span)

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
        rows = self.rows.readings.items()
        return [QuantityInTerm(self.known[key], readings) for key, readings in rows]

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

    @cached_property
    def rated(self) -> list[RatedItem]:
        """How each item of the playing test moved, and whether two people rated it alike."""
        moved, alike = ratings_moving(self.rows.rated), two_ears(self.rows.rated)
        there = [item for item in PLAYING_TEST if item in moved or item in alike]
        return [RatedItem(PLAYING_TEST[item], moved.get(item), alike.get(item)) for item in there]

    @cached_property
    def read_twice(self) -> list[tuple[str, list[tuple[Quantity, Apart]]]]:
        """By what two readings differ, and the quantities that have any such pair."""
        people = [(row.quantity, row.two_people) for row in self.quantities]
        tools = [(row.quantity, row.two_tools) for row in self.quantities]
        told = [(_("Teacher less player"), people), (_("Photo less ruler or caliper"), tools)]
        there = [(title, [row for row in rows if row[1].n]) for title, rows in told]
        return [(title, rows) for title, rows in there if rows]

    @property
    def heard_twice(self) -> list[RatedItem]:
        """The items that teacher and player rated on the same reed."""
        return [row for row in self.rated if row.alike]

    @cached_property
    def came_to_play(self) -> Yield:
        """Of the reeds made of which it is known."""
        return came_to_play(self.rows.reeds, of_studio=self.rows.student is None)

    @cached_property
    def lasting(self) -> Lasting:
        """How long the reeds made in the term play."""
        return lasting(self.rows.lives)

    @cached_property
    def work(self) -> WorkDone:
        """Of what was set in the term, or was due in it."""
        return work_done(self.rows.work, timezone.localdate(timezone=self.term.studio.zone))


def _noted(quantity: Quantity, rows: list[NotedInTerm]) -> NotedQuantity:
    labels = dict(quantity.choices)
    return NotedQuantity(quantity, [(labels[word], it) for word, it in chosen(rows, list(labels))])


def _played(item: str, counts: list[int]) -> Played:
    named = [(_(step.label), n) for step, n in zip(Speaks, counts, strict=True)]
    return Played(PLAYING_TEST[item], named, sum(counts))
