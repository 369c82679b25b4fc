"""How evenly a hand works: its spread about the aim, with the doubt of measuring taken out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reeds.numbers.late import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

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


def third_of(n: int) -> NDArray[np.intp]:
    """Return for each of `n` in order which third it belongs to, 0 to 2; they differ by one at most."""
    return np.arange(n) * 3 // max(n, 1)


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
    values, u = np.asarray(off_aim, dtype=float), np.asarray(doubts, dtype=float)
    if values.shape != u.shape:
        raise ValueError("Each number has its doubt.")
    third = third_of(len(values))
    if len(values) < 3 * FEWEST:
        return None
    tails = kurtosis([values[third == part] for part in range(3)])
    return Evenness(*(spreading(values[third == part], u[third == part], tails) for part in (0, 2)))


def kurtosis(groups: Sequence[NDArray[np.float64]]) -> float:
    """Return how heavy the tails are about the means of the groups, together: 3 for a normal hand, at least
    1.

    With fewer than ten numbers, or none apart, 3.
    """
    apart = np.concatenate([group - group.mean() for group in groups if len(group)])
    square = float((apart**2).sum())
    if len(apart) < 10 or square == 0:
        return 3.0
    return max(1.0, len(apart) * float((apart**4).sum()) / square**2)


def spreading(values: NDArray[np.float64], doubts: NDArray[np.float64], tails: float = 3.0) -> Spreading:
    """Return the spread of numbers with the doubt of measuring taken out of the variance.

    Parameters
    ----------
    values, doubts : arrays, shape (n,)
        Numbers and standard uncertainties, one unit; n >= 2.
    tails : float
        Kurtosis of what they are drawn from, 3 for normal.

    Source
    ------
    Interval of a variance on its logarithm: Bonett, Computational Statistics & Data Analysis 50 (2006)
    775-782, from memory; the mean square of the doubts taken from variance and limits.
    """
    n = len(values)
    square, doubt = float(values.var(ddof=1)), float((doubts**2).mean())
    few = n / (n - Z) if n > Z + 1 else n
    half = Z * few * math.sqrt(max(tails - (n - 3) / n, 0.1) / (n - 1))
    low, high = (math.sqrt(max(few * square * math.exp(side * half) - doubt, 0.0)) for side in (-1, 1))
    own = math.sqrt(square - doubt) if square > doubt else None
    return Spreading(n, math.sqrt(square), own, low, high)
