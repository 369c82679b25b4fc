"""What all pictures of a term share: the frame, a linear scale, and where an axis is marked."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

WIDTH = 320.0
LEFT, RIGHT, TOP, BOTTOM = 42.0, 8.0, 10.0, 24.0
# as many days as are written under a picture; each takes at most 50 units
MOST_DAYS = 5
_WEEKS = 70  # a term of at most so many days is marked by the week, a longer one by the month
_EQUAL = 1e-6  # numbers that differ by less, in any unit, are one number
_MONTHS = (1, 2, 3, 4, 6, 12, 24, 60, 120, 240, 600, 1200)


@dataclass(frozen=True)
class Scale:
    """A linear way from values low to high to picture units start to end; low < high."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        return round(self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start), 1)

    def kept(self, value: float) -> float:
        """The place of the value, or of the nearer end where it lies beyond."""
        return self(min(self.high, max(self.low, value)))


@dataclass(frozen=True)
class ValueTick:
    """A place on an upright axis and the number that stands there."""

    at: float
    value: float


@dataclass(frozen=True)
class DayTick:
    """A place on the axis of days, its day, and how that is written: as Django's `date` filter takes it."""

    at: float
    day: dt.date
    form: str


def across_term(starts_on: dt.date, ends_on: dt.date, left: float = LEFT) -> Scale:
    """Return the scale from the morning of the first day to the evening of the last.

    Raises ValueError if the term ends before it starts.
    """
    if ends_on < starts_on:
        raise ValueError("A term does not end before it starts.")
    return Scale(starts_on.toordinal(), ends_on.toordinal() + 1.0, left, WIDTH - RIGHT)


def day_of(at: dt.datetime) -> float:
    """Return the day a moment lies in as `across_term` takes it, with its part, by its own zone."""
    return at.toordinal() + (at.hour + at.minute / 60) / 24


def nice_step(span: float, about: int = 5) -> float:
    """Return a step of 1, 2 or 5 times a power of ten that cuts `span` into at most about `about` parts.

    Raises ValueError if span is not positive.
    """
    if span <= 0:
        raise ValueError("A span to be cut is longer than nothing.")
    rough = span / about
    power = 10.0 ** math.floor(math.log10(rough))
    return next(step * power for step in (1, 2, 5, 10) if step * power >= rough)


def upright(low: float, high: float, height: float) -> Scale:
    """Return an upright scale with a little room over and under; low <= high, y grows downwards."""
    room = 0.06 * (high - low if high - low > _EQUAL else 1.0)
    return Scale(low - room, high + room, height - BOTTOM, TOP)


def value_ticks(up: Scale, about: int = 5) -> tuple[ValueTick, ...]:
    """Return round values inside the scale, the smallest first."""
    step = nice_step(up.high - up.low, about)
    first, last = math.ceil(up.low / step), math.floor(up.high / step)
    values = [round(k * step, 10) for k in range(first, last + 1)]
    return tuple(ValueTick(up(value), value) for value in values)


def day_ticks(across: Scale) -> tuple[DayTick, ...]:
    """Return at most `MOST_DAYS` days of a term's scale, at weeks or at the first of a month."""
    first = dt.date.fromordinal(int(across.low))
    days = int(across.high - across.low)
    ticks = _weeks(first, days) if days <= _WEEKS else _months(first, first + dt.timedelta(days=days - 1))
    # what would be cut off by the frame is not written
    return tuple(
        DayTick(at, day, form) for day, form in ticks if (at := across(day.toordinal())) <= WIDTH - 44
    )


def _weeks(first: dt.date, days: int) -> list[tuple[dt.date, str]]:
    weeks = max(1, math.ceil(days / 7 / MOST_DAYS))
    return [(first + dt.timedelta(weeks=weeks * k), "j M") for k in range(MOST_DAYS) if weeks * 7 * k < days]


def _months(first: dt.date, last: dt.date) -> list[tuple[dt.date, str]]:
    """The first of each month inside, or of every second, third ..., by the calendar."""
    months = range(_month(first) + (first.day > 1), _month(last) + 1)
    step = next(step for step in _MONTHS if len(months) <= step * MOST_DAYS)
    form = "M" if len(months) <= 12 else "M Y" if step < 12 else "Y"
    return [(dt.date(month // 12, month % 12 + 1, 1), form) for month in months if month % step == 0]


def _month(day: dt.date) -> int:
    return day.year * 12 + day.month - 1
