"""Two ways of measuring the same things, set against each other: mean difference, its doubt, spread."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from reeds.numbers.measured import Measured

K = 2.0


@dataclass(frozen=True)
class Agreement:
    """How one way of measuring agrees with another, in the unit of what was measured.

    Attributes
    ----------
    count : int
        How many things were measured both ways.
    bias : float
        Mean of the first less the second.
    spread : float or None
        Standard deviation of the differences; None for fewer than two.
    held : float
        In what share of them the two lie within twice their joint standard uncertainty.
    """

    count: int
    bias: float
    spread: float | None
    held: float

    @property
    def u_bias(self) -> float | None:
        """Standard uncertainty of the mean difference; None for fewer than two."""
        return None if self.spread is None else self.spread / math.sqrt(self.count)

    @property
    def typical(self) -> float:
        """Root mean square of the differences: what bias and spread come to together."""
        spread = self.spread or 0.0
        return math.sqrt(self.bias**2 + spread**2 * (self.count - 1) / self.count)


def agreement(pairs: Sequence[tuple[Measured, Measured]]) -> Agreement:
    """Return how the first of each pair agrees with the second.

    Parameters
    ----------
    pairs : sequence of (Measured, Measured)
        The same thing both ways, in one unit; the pairs independent of each other.

    Raises
    ------
    ValueError
        For no pair at all.

    Source
    ------
    Bland and Altman, Lancet i (1986) 307-310: mean and standard deviation of the differences; s / sqrt(n)
    for the mean (JCGM 100:2008, 4.2.3).
    """
    if not pairs:
        raise ValueError("There is nothing to set against each other.")
    apart = [first - second for first, second in pairs]
    values = [one.value for one in apart]
    spread = statistics.stdev(values) if len(values) > 1 else None
    held = sum(abs(one.value) <= K * one.u for one in apart) / len(apart)
    return Agreement(len(values), statistics.fmean(values), spread, held)
