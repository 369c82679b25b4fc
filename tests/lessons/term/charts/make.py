"""Plain rows of a term of autumn for pictures."""

from __future__ import annotations

import datetime as dt

from tests.lessons.term import make

FIRST, LAST = dt.date(2026, 9, 1), dt.date(2026, 12, 18)
LIMITS = (71.0, 72.0, 73.0)


def noon(day):
    return dt.datetime.combine(day, dt.time(12), dt.UTC)


def reading(value, day=FIRST, u=0.2, limits=LIMITS):
    return make.reading(value, at=noon(day), u=u, **dict(zip(("low", "aim", "high"), limits, strict=True)))


def found(reed, days, about="tie_length", outcome="above"):
    return make.finding(reed, about, outcome, at=noon(FIRST + dt.timedelta(days=days)))
