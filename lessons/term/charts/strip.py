"""What was found again and again, in time: a row a finding, a mark at each day it was found."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property

from lessons.term.charts import shapes
from lessons.term.charts.frame import RIGHT, WIDTH, DayTick, across_term, day_of, day_ticks
from lessons.term.lookback.rows import FoundInTerm

HEIGHT = 18.0
MIDDLE = HEIGHT / 2
LEFT = 8.0


@dataclass(frozen=True)
class StripMark:
    """One finding in one round: `again` where the same reed had it in an earlier round of the term."""

    x: float
    at: dt.datetime
    number: int
    again: bool


@dataclass(frozen=True)
class StripRow:
    """One kind of finding of the term; its marks from the first to the last."""

    about: str
    outcome: str
    reeds: int
    marks: tuple[StripMark, ...]

    @property
    def first(self) -> str:
        """The path of the days on which it was found on a reed for the first time."""
        return shapes.diamonds((mark.x, MIDDLE) for mark in self.marks if not mark.again)

    @property
    def again(self) -> str:
        """The path of the days on which it was still there."""
        return shapes.dots((mark.x, MIDDLE) for mark in self.marks if mark.again)


@dataclass(frozen=True)
class Strip:
    """The rows share one axis, each `height` high; at `rounds` a round was sent, whatever was found."""

    width: float
    height: float
    left: float
    right: float
    rounds: tuple[float, ...]
    rows: tuple[StripRow, ...]
    x_ticks: tuple[DayTick, ...]

    @cached_property
    def sent(self) -> str:
        """The path of the days on which a round was sent."""
        return shapes.bars((x, MIDDLE - 5, MIDDLE + 5) for x in self.rounds)

    @property
    def returning(self) -> tuple[StripRow, ...]:
        """What was found on more than one reed."""
        return tuple(row for row in self.rows if row.reeds > 1)

    @property
    def single(self) -> tuple[StripRow, ...]:
        """What was found on one reed only."""
        return tuple(row for row in self.rows if row.reeds == 1)


def strip(
    found: Iterable[FoundInTerm], sent: Iterable[dt.datetime], starts_on: dt.date, ends_on: dt.date
) -> Strip:
    """Place one student's findings between the first and the last day of a term.

    Parameters
    ----------
    found : iterable of FoundInTerm
        Of one student, in any order; the same kind twice in one round counts once.
    sent : iterable of datetime
        When each round was sent, whatever was found in it; with a zone.
    starts_on, ends_on : date
        The term; starts_on <= ends_on.

    Returns
    -------
    Strip
        What was found on the most reeds first; equals by their words, so that the order of rows is no matter.

    Raises
    ------
    ValueError
        If the term ends before it starts.
    """
    across = across_term(starts_on, ends_on, LEFT)
    kinds: dict[tuple[str, str], list[FoundInTerm]] = defaultdict(list)
    for one in found:
        kinds[one.about, one.outcome].append(one)
    rows = [_row(kind, of_it, lambda at: across(day_of(at))) for kind, of_it in kinds.items()]
    rows.sort(key=lambda row: (-row.reeds, row.about, row.outcome))
    rounds = tuple(sorted({across(day_of(at)) for at in sent}))
    return Strip(WIDTH, HEIGHT, LEFT, WIDTH - RIGHT, rounds, tuple(rows), day_ticks(across))


def _row(kind: tuple[str, str], found: list[FoundInTerm], place: Callable[[dt.datetime], float]) -> StripRow:
    seen: set[int] = set()
    marks = []
    for at, reed, number in sorted({(one.at, one.reed, one.number) for one in found}):
        marks.append(StripMark(place(at), at, number, reed in seen))
        seen.add(reed)
    return StripRow(*kind, len(seen), tuple(marks))
