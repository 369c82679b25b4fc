"""One number a reed in the order it was made, with the limits that its own steps from reed to reed give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lessons.term.charts import shapes
from lessons.term.charts.frame import LEFT, RIGHT, WIDTH, Scale, ValueTick, upright, value_ticks

HEIGHT = 170.0


@dataclass(frozen=True)
class Individual:
    """One reed in picture units; `signals` where it lies beyond the limits."""

    x: float
    y: float
    signals: bool


@dataclass(frozen=True)
class Individuals:
    """One picture: the view box is 0 0 width height; `line` joins the dots as an SVG path."""

    width: float
    height: float
    dots: tuple[Individual, ...]
    line: str
    centre: float
    lower: float
    upper: float
    y_ticks: tuple[ValueTick, ...]

    @property
    def usual(self) -> str:
        """The path of those between the limits."""
        return shapes.dots((dot.x, dot.y) for dot in self.dots if not dot.signals)

    @property
    def unusual(self) -> str:
        """The path of those beyond."""
        return shapes.diamonds((dot.x, dot.y) for dot in self.dots if dot.signals)


def individuals(
    values: Sequence[float], signals: Sequence[bool], centre: float, lower: float, upper: float
) -> Individuals:
    """Place values from left to right at even steps.

    Parameters
    ----------
    values : sequence of float, at least one
        In the order the reeds were made, in one unit.
    signals : sequence of bool
        As many; which of them stand out.
    centre, lower, upper : float
        The chart's lines in the same unit; lower <= centre <= upper.

    Returns
    -------
    Individuals
        In picture units, y growing downwards.

    Raises
    ------
    ValueError
        If there is no value, the two sequences differ in length, or the lines are out of order.
    """
    if not values or len(values) != len(signals) or not lower <= centre <= upper:
        raise ValueError("A chart of single numbers needs one at least, a sign for each, and lines in order.")
    up = upright(min(lower, *values), max(upper, *values), HEIGHT)
    across = Scale(0.5, len(values) + 0.5, LEFT, WIDTH - RIGHT)
    dots = tuple(
        Individual(across(place), up(value), signs)
        for place, (value, signs) in enumerate(zip(values, signals, strict=True), 1)
    )
    line = "M" + " ".join(f"{dot.x},{dot.y}" for dot in dots)
    return Individuals(WIDTH, HEIGHT, dots, line, up(centre), up(lower), up(upper), value_ticks(up))
