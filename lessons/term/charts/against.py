"""A quantity against the sheet's band: low, aim and high stand at the same heights in every picture.

So pictures of other quantities, other staples and other students share one scale and can stand side by side.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from lessons.term.charts import shapes
from lessons.term.charts.frame import BOTTOM, TOP, WIDTH, DayTick, Scale, across_term, day_of, day_ticks
from lessons.term.lookback.rows import ReadingInTerm

HEIGHT = 150.0
# half bands over and under the aim that are shown; what lies further off is an arrow at the edge
REACH = 2.5
Places = tuple[float, float, float]


class Where(StrEnum):
    """Where a number stands; drawn by a shape of its own, so that no colour is needed to tell."""

    WITHIN = "within"
    WITHOUT = "without"
    OVER = "over"
    UNDER = "under"


@dataclass(frozen=True)
class Against:
    """One reading in picture units, with its doubt from top to bottom."""

    x: float
    y: float
    doubt_top: float
    doubt_bottom: float
    where: Where
    reading: ReadingInTerm


@dataclass(frozen=True)
class Band:
    """One picture: the view box is 0 0 width height; `left_out` readings have no band to stand in."""

    width: float
    height: float
    high: float
    aim: float
    low: float
    dots: tuple[Against, ...]
    x_ticks: tuple[DayTick, ...]
    left_out: int

    @property
    def within(self) -> str:
        """The path of those within their limits, taken as read."""
        return shapes.dots(self._at(Where.WITHIN))

    @property
    def without(self) -> str:
        """The path of those outside, and of those further off than the picture reaches."""
        near = shapes.diamonds(self._at(Where.WITHOUT))
        return near + shapes.up(self._at(Where.OVER)) + shapes.down(self._at(Where.UNDER))

    @property
    def doubts(self) -> str:
        """The path of all doubts."""
        return shapes.bars((dot.x, dot.doubt_top, dot.doubt_bottom) for dot in self.dots)

    def _at(self, where: Where) -> list[shapes.Place]:
        return [(dot.x, dot.y) for dot in self.dots if dot.where == where]


def band_places(low: float | None, aim: float | None, high: float | None) -> Places | None:
    """Return low, aim and high of the band a reading stands in, or None where there is none.

    Parameters
    ----------
    low, aim, high : float or None
        The sheet's row, in the quantity's unit, in this order where they are there.

    Returns
    -------
    (low, aim, high) or None
        Strictly rising. Without an aim it is the middle; a side without a limit, or with the aim for its
        limit, is as wide as the other.
    """
    if aim is None:
        aim = None if low is None or high is None else (low + high) / 2
    if aim is None:
        return None
    below = 0.0 if low is None else aim - low
    above = 0.0 if high is None else high - aim
    if not (below > 0 or above > 0):
        return None
    return aim - (below if below > 0 else above), aim, aim + (above if above > 0 else below)


def in_half_bands(value: float, band: Places) -> float:
    """Return where a value stands: -1 at the low limit, 0 at the aim, 1 at the high one, and on beyond.

    `band` is strictly rising, in the unit of the value; the result rises with the value.
    """
    low, aim, high = band
    return (value - aim) / (high - aim if value > aim else aim - low)


def against(readings: Iterable[ReadingInTerm], starts_on: dt.date, ends_on: dt.date) -> Band:
    """Place readings between the first and the last day of a term, each against its own reed's band.

    Parameters
    ----------
    readings : iterable of ReadingInTerm
        In any order; limits in the unit of the value; times with a zone.
    starts_on, ends_on : date
        The term; starts_on <= ends_on.

    Returns
    -------
    Band
        Doubt is drawn as plus or minus two u (k = 2), cut at the edges.

    Raises
    ------
    ValueError
        If the term ends before it starts.
    """
    across, up = across_term(starts_on, ends_on), Scale(-REACH, REACH, HEIGHT - BOTTOM, TOP)
    placed = [_placed(one, across, up) for one in sorted(readings, key=lambda one: one.at)]
    dots = tuple(dot for dot in placed if dot is not None)
    left_out = len(placed) - len(dots)
    return Band(WIDTH, HEIGHT, up(1.0), up(0.0), up(-1.0), dots, day_ticks(across), left_out)


def _placed(reading: ReadingInTerm, across: Scale, up: Scale) -> Against | None:
    band = band_places(reading.low, reading.aim, reading.high)
    if band is None:
        return None
    at = in_half_bands(reading.value, band)
    return Against(
        x=across(day_of(reading.at)),
        y=up.kept(at),
        doubt_top=up.kept(in_half_bands(reading.value + 2 * reading.u, band)),
        doubt_bottom=up.kept(in_half_bands(reading.value - 2 * reading.u, band)),
        where=_where(at, reading),
        reading=reading,
    )


def _where(at: float, reading: ReadingInTerm) -> Where:
    if abs(at) > REACH:
        return Where.OVER if at > 0 else Where.UNDER
    under = reading.low is not None and reading.value < reading.low
    over = reading.high is not None and reading.value > reading.high
    return Where.WITHOUT if under or over else Where.WITHIN


def one_band(readings: Sequence[ReadingInTerm]) -> Places | None:
    """Return low, aim and high if all readings stand in the same band, else None; None for no reading."""
    bands = [band_places(one.low, one.aim, one.high) for one in readings]
    return bands[0] if bands and all(one == other for one, other in pairwise(bands)) else None
