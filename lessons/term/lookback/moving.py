"""Where a quantity or a rating lies in the term and how it moves: each reed once, with its last number."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from typing import Protocol, TypeVar

from lessons.term.lookback.middle import Middle, middle
from lessons.term.lookback.rows import RatedInTerm, ReadingInTerm
from lessons.term.lookback.trend import Trend, trend

SECONDS_A_DAY = 86400.0


@dataclass(frozen=True)
class Moving:
    """Median and trend of one quantity, or of one item of the playing test.

    `off_aim` tells whether the numbers are distances from each reed's own aim; then readings without an aim
    are left out. The trend is a day; students are compared with themselves alone.
    """

    off_aim: bool
    middle: Middle
    trend: Trend


class _Dated(Protocol):
    @property
    def at(self) -> dt.datetime: ...
    @property
    def student(self) -> int: ...


Dated = TypeVar("Dated", bound=_Dated)


def moving(readings: Iterable[ReadingInTerm]) -> Moving:
    """Return where a quantity lies and how it moves: off the aim where its reeds have aims, else as read."""
    last = last_of_each((r.reed, r.value, r) for r in readings)
    aimed = [(r, r.value - r.aim) for r in last if r.aim is not None]
    return _moving(aimed or [(r, r.value) for r in last], off_aim=bool(aimed))


def ratings_moving(rated: Iterable[RatedInTerm]) -> dict[str, Moving]:
    """Return the same of every item as the players themselves rated how it spoke, 1 to 5, by item."""
    own = (((r.item, r.reed), r.speaks, r) for r in rated if r.speaks is not None and not r.by_teacher)
    by_item: dict[str, list[tuple[RatedInTerm, float]]] = defaultdict(list)
    for row in last_of_each(own):
        by_item[row.item].append((row, float(row.speaks or 0)))
    return {item: _moving(rows, off_aim=False) for item, rows in by_item.items()}


def last_of_each(rows: Iterable[tuple[Hashable, float, Dated]]) -> list[Dated]:
    """Return the last row under each key; of two at the same moment the larger, so that no order matters."""
    last: dict[Hashable, tuple[tuple[dt.datetime, float], Dated]] = {}
    for key, value, row in rows:
        place = (row.at, value)
        if key not in last or place > last[key][0]:
            last[key] = (place, row)
    return [row for _, row in last.values()]


def _moving(rows: list[tuple[Dated, float]], off_aim: bool) -> Moving:
    days = [row.at.timestamp() / SECONDS_A_DAY for row, _ in rows]
    values = [value for _, value in rows]
    return Moving(off_aim, middle(values), trend(days, values, [row.student for row, _ in rows]))
