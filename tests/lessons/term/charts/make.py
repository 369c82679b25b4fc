"""Plain rows for pictures."""

from __future__ import annotations

import datetime as dt

from lessons.term.lookback.rows import FoundInTerm, ReadingInTerm

FIRST, LAST = dt.date(2026, 9, 1), dt.date(2026, 12, 18)


def noon(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(12), dt.UTC)


def reading(
    value: float,
    day: dt.date = FIRST,
    u: float = 0.2,
    limits: tuple[float | None, float | None, float | None] = (71.0, 72.0, 73.0),
) -> ReadingInTerm:
    return ReadingInTerm(1, 1, 1, noon(day), value, u, *limits, "ruler", "tied", False)


def found(reed: int, days: int, about: str = "tie_length", outcome: str = "above") -> FoundInTerm:
    return FoundInTerm(reed, reed, 1, noon(FIRST + dt.timedelta(days=days)), about, outcome)
