"""Whether numbers rise or fall over a term, how much a day: no line is fitted, no law of errors assumed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from lessons.term.lookback.interval import Interval, Z
from reeds.numbers.late import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

FloatArray: TypeAlias = "NDArray[np.float64]"
IntArray: TypeAlias = "NDArray[np.int64]"

FEWEST = 6  # own choice, no source: below, the interval is the whole range of slopes


@dataclass(frozen=True)
class Trend:
    """How numbers move with time.

    Attributes
    ----------
    n : int
        How many numbers.
    slope : float or None
        The middle of all slopes between two numbers, unit a day; None where it cannot be told.
    interval : Interval or None
        Its 95 % interval, unit a day.
    p : float or None
        Of Kendall's test, two-sided, normal with continuity: how likely so much order is without any trend.
    """

    n: int
    slope: float | None = None
    interval: Interval | None = None
    p: float | None = None

    @property
    def is_told(self) -> bool:
        """Whether both say that it moves: the interval leaves out standing still, and the test is at 5 %."""
        if self.interval is None or self.p is None:
            return False
        return (self.interval.low > 0 or self.interval.high < 0) and self.p < 0.05


def trend(days: Sequence[float], values: Sequence[float], groups: Sequence[int] | None = None) -> Trend:
    """Return the trend of `values` with time, within groups where there are groups.

    Parameters
    ----------
    days, values : sequence of float, of equal length
        Time in days from anywhere, and the numbers in any one unit; in any order, ties in both allowed.
    groups : sequence of int, optional
        Whose each number is: only numbers of the same group are compared, so that groups that differ from
        each other, or stop and begin at different times, make no trend.

    Returns
    -------
    Trend
        Without figures for fewer than `FEWEST` numbers, or no two of a group at different times.

    Raises
    ------
    ValueError
        If the lengths differ or something is not finite.

    Source
    ------
    Slope and interval: Theil (1950) and Sen, JASA 63 (1968) 1379-1389, equation 2.6; within groups: Hirsch,
    Slack and Smith, Water Resources Research 18 (1982) 107-121. Test: Kendall, Rank Correlation Methods (4th
    ed., 1970), variance with ties in both. From memory; tested against scipy and pymannkendall.
    """
    n = len(values)
    t, y = np.array(days, dtype=float), np.array(values, dtype=float)
    g = np.unique(groups if groups is not None else np.zeros(n), return_inverse=True)[1]
    if not len(t) == n == len(g) or not (np.isfinite(t).all() and np.isfinite(y).all()):
        raise ValueError("A trend needs as many finite times as finite numbers.")
    run, rise = _pairs(t, y, g)
    slopes = np.sort(rise[run != 0] / run[run != 0])
    if n < FEWEST or not len(slopes):
        return Trend(n)
    score, variance = float(np.sum(np.sign(rise) * np.sign(run))), float(np.sum(variances(t, y, g)))
    return Trend(n, float(np.median(slopes)), _sen_interval(slopes, t, y, g), _p(score, variance))


def _pairs(t: FloatArray, y: FloatArray, g: IntArray) -> tuple[FloatArray, FloatArray]:
    """Differences in time and in number of every two of the same group, each pair once."""
    order = np.argsort(g, kind="stable")
    t, y, sizes = t[order], y[order], np.bincount(g)
    later = np.repeat(np.cumsum(sizes), sizes) - np.arange(len(t)) - 1  # how many of its group follow each
    first = np.repeat(np.arange(len(t)), later)
    second = first + 1 + np.arange(len(first)) - np.repeat(np.cumsum(later) - later, later)
    return t[second] - t[first], y[second] - y[first]


def variances(t: FloatArray, y: FloatArray, g: IntArray) -> FloatArray:
    """Return the variance of Kendall's score of each group without any trend, ties in both allowed for.

    Parameters
    ----------
    t, y : array of float, shape (n,)
        Times and numbers.
    g : array of int, shape (n,)
        Groups 0 to k - 1.

    Returns
    -------
    array of float, shape (k,)
    """
    n = np.bincount(g).astype(float)
    (t5, t3, t2), (y5, y3, y2) = _tied(t, g), _tied(y, g)
    main = (n * (n - 1) * (2 * n + 5) - t5 - y5) / 18
    # of a group too small for ties of three, or of two, the sums over its ties are nothing
    three, two = np.maximum(9 * n * (n - 1) * (n - 2), 1), np.maximum(2 * n * (n - 1), 1)
    return np.asarray(main + t3 * y3 / three + t2 * y2 / two)


def _tied(values: FloatArray, g: IntArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """For each group the sums over its ties of size k: k(k-1)(2k+5), k(k-1)(k-2), k(k-1)."""
    order = np.lexsort((values, g))
    v, w = values[order], g[order]
    new = np.r_[True, (v[1:] != v[:-1]) | (w[1:] != w[:-1])]
    start = np.flatnonzero(new)
    k, whose = np.diff(np.r_[start, len(v)]).astype(float), w[start]
    two = k * (k - 1)
    of5, of3, of2 = (
        np.bincount(whose, weights=w).astype(float) for w in (two * (2 * k + 5), two * (k - 2), two)
    )
    return of5, of3, of2


def _sen_interval(slopes: FloatArray, t: FloatArray, y: FloatArray, g: IntArray) -> Interval:
    """The slopes at Sen's ranks; the ends of all slopes where the ranks lie beyond them."""
    n = np.bincount(g).astype(float)
    spread = float(np.sum((n * (n - 1) * (2 * n + 5) - _tied(t, g)[0] - _tied(y, g)[0]) / 18))
    wide, many = Z * math.sqrt(max(spread, 0.0)), len(slopes)
    low = max(round((many - wide) / 2) - 1, 0)
    high = min(round((many + wide) / 2), many - 1)
    return Interval(float(slopes[low]), float(slopes[high]))


def _p(score: float, variance: float) -> float:
    """Two-sided; a score moves in steps of two, so one is taken off it."""
    if variance <= 0:
        return 1.0
    return math.erfc(max(abs(score) - 1, 0.0) / math.sqrt(2 * variance))
