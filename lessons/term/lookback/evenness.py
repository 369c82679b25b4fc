"""How evenly a hand works: its spread about the aim, with the doubt of measuring taken out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

Row = TypeVar("Row")

Z = 1.959964
FEWEST = 3
# "even within": about 19 in 20 lie as near as this to the middle
WITHIN = 2.0


@dataclass(frozen=True)
class Spreading:
    """How far `n` numbers lie apart, as standard deviations in the quantity's unit.

    Attributes
    ----------
    seen : float
        As they were read, doubt and all.
    own : float or None
        The hand's own, doubt taken out; None where the doubt is as large as all that is seen: cannot tell.
    low, high : float
        95 % interval of the hand's own; low is 0 where doubt may explain all.
    """

    n: int
    seen: float
    own: float | None
    low: float
    high: float

    @property
    def can_tell(self) -> bool:
        """Whether more is seen than measuring alone would show."""
        return self.own is not None


@dataclass(frozen=True)
class Evenness:
    """A hand in the first and in the last third of its reeds of a term."""

    first: Spreading
    last: Spreading

    @property
    def can_tell(self) -> bool:
        """Whether both thirds show more than the doubt of measuring."""
        return self.first.can_tell and self.last.can_tell


def in_thirds(rows: Sequence[Row]) -> tuple[Sequence[Row], Sequence[Row], Sequence[Row]]:
    """Return the first, the middle and the last third of rows in order; they differ by one at most."""
    first, last = -(-len(rows) // 3), -(-2 * len(rows) // 3)
    return rows[:first], rows[first:last], rows[last:]


def evenness(off_aim: Sequence[float], doubts: Sequence[float]) -> Evenness | None:
    """Return a hand's own spread in the first and the last third of its reeds.

    Parameters
    ----------
    off_aim : sequence of float
        (value - aim) of one quantity, one a reed, in order of time; in its unit.
    doubts : sequence of float
        The standard uncertainty of each, same unit; as long.

    Returns
    -------
    Evenness or None
        None with fewer than three reeds in a third.

    Raises
    ------
    ValueError
        If the two are not as long as each other.

    Source
    ------
    Own choice: thirds of the reeds and not of the weeks, since no student ties alike in every week.
    Interval: see `spreading`. What it covers is simulated in tests/accuracy/term.py.
    """
    if len(off_aim) != len(doubts):
        raise ValueError("Each number has its doubt.")
    if len(off_aim) < 3 * FEWEST:
        return None
    thirds, of_each = in_thirds(off_aim), in_thirds(doubts)
    tails = kurtosis(thirds)
    return Evenness(*(spreading(thirds[part], of_each[part], tails) for part in (0, 2)))


def from_mean(values: Sequence[float]) -> list[float]:
    """Return how far each of at least one number lies from the mean of all."""
    mean = math.fsum(values) / len(values)
    return [value - mean for value in values]


def kurtosis(groups: Sequence[Sequence[float]]) -> float:
    """Return how heavy the tails are about the means of the groups, together: 3 for a normal hand, at least
    1.

    With fewer than ten numbers, or none apart, 3.
    """
    squares = [apart * apart for group in groups if group for apart in from_mean(group)]
    square = math.fsum(squares)
    if len(squares) < 10 or square == 0:
        return 3.0
    return max(1.0, len(squares) * math.fsum(one * one for one in squares) / square**2)


def spreading(values: Sequence[float], doubts: Sequence[float], tails: float = 3.0) -> Spreading:
    """Return the spread of numbers with the doubt of measuring taken out of the variance.

    Parameters
    ----------
    values, doubts : sequences of n floats
        Numbers and standard uncertainties, one unit; n >= 2.
    tails : float
        Kurtosis of what they are drawn from, 3 for normal.

    Source
    ------
    Interval of a variance on its logarithm: Bonett, Computational Statistics & Data Analysis 50 (2006)
    775-782, from memory; the mean square of the doubts taken from variance and limits.
    """
    n = len(values)
    square = math.fsum(apart * apart for apart in from_mean(values)) / (n - 1)
    doubt = math.fsum(u * u for u in doubts) / n
    few = n / (n - Z) if n > Z + 1 else n
    half = Z * few * math.sqrt(max(tails - (n - 3) / n, 0.1) / (n - 1))
    low, high = (math.sqrt(max(few * square * math.exp(side * half) - doubt, 0.0)) for side in (-1, 1))
    own = math.sqrt(square - doubt) if square > doubt else None
    return Spreading(n, math.sqrt(square), own, low, high)
