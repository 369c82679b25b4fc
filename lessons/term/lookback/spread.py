"""Where a handful of numbers lies: median and the middle half, never without n."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reeds.numbers.late import np


@dataclass(frozen=True)
class Spread:
    """Median and quartiles of `n` numbers, in their own unit; all None where n is 0."""

    n: int
    median: float | None
    lower: float | None
    upper: float | None


def spread(values: Sequence[float]) -> Spread:
    """Return n, median and quartiles.

    Parameters
    ----------
    values : sequence of float, any length
        In any one unit; the order does not matter; not changed.

    Returns
    -------
    Spread
        Quartiles by linear interpolation between order statistics.

    Raises
    ------
    ValueError
        If a value is not finite.

    Source
    ------
    Hyndman and Fan, The American Statistician 50 (1996) 361-365, definition 7 (numpy's default); from memory.
    """
    if not values:
        return Spread(0, None, None, None)
    array = np.asarray(values, dtype=float)
    if not np.isfinite(array).all():
        raise ValueError("Only finite numbers have a median here.")
    lower, median, upper = (float(q) for q in np.quantile(array, [0.25, 0.5, 0.75]))
    return Spread(len(values), median, lower, upper)
