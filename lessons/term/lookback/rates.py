"""Shares with their interval: so many of so many, and what that says of the long run."""

from __future__ import annotations

import math
from dataclasses import dataclass

Z95 = 1.959964


@dataclass(frozen=True)
class Share:
    """So many of so many, with a 95 % interval for the share behind them.

    Attributes
    ----------
    count, n : int
        0 <= count <= n.
    low, high : float
        Interval of the share, 0 to 1; (0, 1) where n is 0: nothing is known.
    """

    count: int
    n: int
    low: float
    high: float

    @property
    def value(self) -> float | None:
        """The share itself, 0 to 1; None where n is 0."""
        return self.count / self.n if self.n else None


def share(count: int, n: int, z: float = Z95) -> Share:
    """Return `count` of `n` with its Wilson score interval.

    Parameters
    ----------
    count, n : int
        How many, out of how many; 0 <= count <= n.
    z : float
        Standard normal quantile; 1.959964 for 95 %.

    Returns
    -------
    Share
        With n = 0 the interval is (0, 1).

    Raises
    ------
    ValueError
        If count is negative or larger than n.

    Source
    ------
    Wilson (1927); method 3 of Newcombe, Statistics in Medicine 17 (1998) 857-872.
    """
    if not 0 <= count <= n:
        raise ValueError("A share counts some of n: not fewer than none, not more than all.")
    if n == 0:
        return Share(0, 0, 0.0, 1.0)
    p, zz = count / n, z * z
    middle = (p + zz / (2 * n)) / (1 + zz / n)
    reach = z * math.sqrt(p * (1 - p) / n + zz / (4 * n * n)) / (1 + zz / n)
    return Share(count, n, max(0.0, middle - reach), min(1.0, middle + reach))
