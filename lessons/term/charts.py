"""A quantity over a term as one plain chart: places for an SVG template, no colours and no words."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

from lessons.term.lookback.rows import ReadingInTerm

WIDTH, HEIGHT = 640.0, 220.0
LEFT, RIGHT, TOP, BOTTOM = 52.0, 12.0, 12.0, 28.0


@dataclass(frozen=True)
class Dot:
    """One reading in picture units: its middle, its doubt from top to bottom, its own limits as a bar."""

    x: float
    y: float
    doubt_top: float
    doubt_bottom: float
    limit_top: float | None
    limit_bottom: float | None
    aim_y: float | None
    reading: ReadingInTerm


@dataclass(frozen=True)
class AxisTick:
    """A place on an axis and the number or day that stands there."""

    at: float
    value: float | dt.date


@dataclass(frozen=True)
class Chart:
    """Everything an SVG template needs; the view box is 0 0 width height."""

    width: float
    height: float
    dots: tuple[Dot, ...]
    y_ticks: tuple[AxisTick, ...]
    x_ticks: tuple[AxisTick, ...]


@dataclass(frozen=True)
class _Scale:
    """A linear way from values to picture units."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        return round(self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start), 2)


def nice_step(span: float, about: int = 5) -> float:
    """Return a step of 1, 2 or 5 times a power of ten that cuts `span` into at most about `about` parts.

    Raises ValueError if span is not positive.
    """
    if span <= 0:
        raise ValueError("A span to be cut is longer than nothing.")
    rough = span / about
    power = 10.0 ** math.floor(math.log10(rough))
    return next(step * power for step in (1, 2, 5, 10) if step * power >= rough)


def chart(readings: Sequence[ReadingInTerm], starts_on: dt.date, ends_on: dt.date) -> Chart:
    """Place readings between the first and the last day of a term.

    Parameters
    ----------
    readings : sequence of ReadingInTerm, at least one
        Values and limits in one unit; times with a zone.
    starts_on, ends_on : date
        The term; starts_on <= ends_on.

    Returns
    -------
    Chart
        In picture units, y growing downwards; doubt is drawn as plus or minus two u (k = 2).

    Raises
    ------
    ValueError
        If there is no reading, or the term ends before it starts.
    """
    if not readings or ends_on < starts_on:
        raise ValueError("A picture needs a reading and a term that does not end before it starts.")
    up = _upright_scale(readings)
    across = _Scale(starts_on.toordinal(), ends_on.toordinal() + 1.0, LEFT, WIDTH - RIGHT)
    dots = tuple(_dot(reading, across, up) for reading in sorted(readings, key=lambda reading: reading.at))
    return Chart(WIDTH, HEIGHT, dots, _y_ticks(up), _x_ticks(across, starts_on, ends_on))


def _upright_scale(readings: Sequence[ReadingInTerm]) -> _Scale:
    ends = [value for r in readings for value in (r.value - 2 * r.u, r.value + 2 * r.u, r.low, r.aim, r.high)]
    known = [value for value in ends if value is not None]
    low, high = min(known), max(known)
    room = (high - low or 1.0) * 0.06
    return _Scale(low - room, high + room, HEIGHT - BOTTOM, TOP)


def _dot(reading: ReadingInTerm, across: _Scale, up: _Scale) -> Dot:
    day = reading.at.toordinal() + (reading.at.hour + reading.at.minute / 60) / 24

    def placed(value: float | None) -> float | None:
        return None if value is None else up(value)

    return Dot(
        x=across(day),
        y=up(reading.value),
        doubt_top=up(reading.value + 2 * reading.u),
        doubt_bottom=up(reading.value - 2 * reading.u),
        limit_top=placed(reading.high),
        limit_bottom=placed(reading.low),
        aim_y=placed(reading.aim),
        reading=reading,
    )


def _y_ticks(up: _Scale) -> tuple[AxisTick, ...]:
    step = nice_step(up.high - up.low)
    first = math.ceil(up.low / step)
    last = math.floor(up.high / step)
    values = [round(k * step, 10) for k in range(first, last + 1)]
    return tuple(AxisTick(up(value), value) for value in values)


def _x_ticks(across: _Scale, starts_on: dt.date, ends_on: dt.date) -> tuple[AxisTick, ...]:
    weeks = max(1, math.ceil(((ends_on - starts_on).days + 1) / 7 / 5))
    days = [starts_on + dt.timedelta(weeks=weeks * k) for k in range(6)]
    return tuple(AxisTick(across(day.toordinal()), day) for day in days if day <= ends_on)
