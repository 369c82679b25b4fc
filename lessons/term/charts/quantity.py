"""A quantity over a term by its own numbers: for what the sheet gives no band to stand in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from lessons.term.charts import shapes
from lessons.term.charts.frame import (
    WIDTH,
    DayTick,
    Scale,
    ValueTick,
    across_term,
    day_of,
    day_ticks,
    upright,
    value_ticks,
)
from lessons.term.lookback.rows import ReadingInTerm

HEIGHT = 150.0


@dataclass(frozen=True)
class Dot:
    """One reading in picture units: its middle, its doubt from top to bottom, its own limits as a bar."""

    x: float
    y: float
    doubt_top: float
    doubt_bottom: float
    limit_top: float | None
    limit_bottom: float | None
    reading: ReadingInTerm


@dataclass(frozen=True)
class Chart:
    """Everything an SVG template needs; the view box is 0 0 width height."""

    width: float
    height: float
    dots: tuple[Dot, ...]
    y_ticks: tuple[ValueTick, ...]
    x_ticks: tuple[DayTick, ...]

    @property
    def marks(self) -> str:
        """The path of all readings."""
        return shapes.dots((dot.x, dot.y) for dot in self.dots)

    @property
    def doubts(self) -> str:
        """The path of all doubts."""
        return shapes.bars((dot.x, dot.doubt_top, dot.doubt_bottom) for dot in self.dots)

    @property
    def limits(self) -> str:
        """The path of the limits, a short line across each reading's own."""
        ends = ((dot.x, y) for dot in self.dots for y in (dot.limit_top, dot.limit_bottom) if y is not None)
        return "".join(f"M{x - 6} {y}h12" for x, y in ends)


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
    if not readings:
        raise ValueError("A picture needs a reading.")
    across, up = across_term(starts_on, ends_on), _upright_scale(readings)
    dots = tuple(_dot(reading, across, up) for reading in sorted(readings, key=lambda reading: reading.at))
    return Chart(WIDTH, HEIGHT, dots, value_ticks(up), day_ticks(across))


def _upright_scale(readings: Sequence[ReadingInTerm]) -> Scale:
    ends = [value for r in readings for value in (r.value - 2 * r.u, r.value + 2 * r.u, r.low, r.aim, r.high)]
    known = [value for value in ends if value is not None]
    return upright(min(known), max(known), HEIGHT)


def _dot(reading: ReadingInTerm, across: Scale, up: Scale) -> Dot:
    return Dot(
        x=across(day_of(reading.at)),
        y=up(reading.value),
        doubt_top=up(reading.value + 2 * reading.u),
        doubt_bottom=up(reading.value - 2 * reading.u),
        limit_top=None if reading.high is None else up(reading.high),
        limit_bottom=None if reading.low is None else up(reading.low),
        reading=reading,
    )
