"""Where the middle of the reeds lies: a median with its interval."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from lessons.term.lookback.interval import LEVEL, Interval
from reeds.numbers.late import np


@dataclass(frozen=True)
class Middle:
    """The median of `n` numbers, in their unit; None where there are none. `interval` is None for too few."""

    n: int
    median: float | None
    interval: Interval | None


def middle(values: Iterable[float]) -> Middle:
    """Return the median and the interval for the median of what the numbers come from.

    Parameters
    ----------
    values : iterable of float
        In any one unit and any order; independent of each other: one a reed, not three of the same.

    Returns
    -------
    Middle
        The interval runs between two of the numbers themselves and holds the median at least 95 times in 100
        whatever their distribution; with fewer than six there is none.

    Raises
    ------
    ValueError
        If a value is not finite.

    Source
    ------
    Order statistics and the binomial law: Conover, Practical Nonparametric Statistics (3rd ed., 1999), 3.2;
    from memory. The same as scipy's quantile_test.
    """
    array = np.sort(np.fromiter(values, dtype=float))
    if not np.isfinite(array).all():
        raise ValueError("Only finite numbers have a median here.")
    n = len(array)
    if n == 0:
        return Middle(0, None, None)
    rank = rank_of(n)
    interval = Interval(float(array[rank - 1]), float(array[n - rank])) if rank else None
    return Middle(n, float(np.median(array)), interval)


@lru_cache(maxsize=4096)
def rank_of(n: int) -> int:
    """Return the rank, from either end, at which the interval of a median of `n` ends; 0 for too few."""
    # scipy.stats takes a second to import: only who opens a term pays for it
    from scipy.stats import binom

    return int(binom.ppf((1 - LEVEL) / 2, n, 0.5))
