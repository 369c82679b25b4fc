"""From where to where: an interval about a figure, in the figure's own unit."""

from __future__ import annotations

from typing import NamedTuple

LEVEL = 0.95  # what every interval of a term is
Z = 1.959963984540054  # the normal law's 0.975: two sides of LEVEL


class Interval(NamedTuple):
    """A 95 % interval; low <= high."""

    low: float
    high: float

    def times(self, factor: float) -> Interval:
        """Return it in a unit of which `factor` make one of this; factor > 0."""
        return Interval(self.low * factor, self.high * factor)
