"""Shares with their interval: so many of so many, and what that says of the long run."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache


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


@lru_cache(maxsize=4096)  # a millisecond each, and a term asks for the same shares again and again
def share(count: int, n: int) -> Share:
    """Return `count` of `n` with its 95 % Wilson score interval.

    Parameters
    ----------
    count, n : int
        How many, out of how many; 0 <= count <= n.

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
    Wilson (1927); method 3 of Newcombe, Statistics in Medicine 17 (1998) 857-872; computed by scipy.
    """
    if not 0 <= count <= n:
        raise ValueError("A share counts some of n: not fewer than none, not more than all.")
    if n == 0:
        return Share(0, 0, 0.0, 1.0)
    # scipy.stats takes a second to import: only who opens a term pays for it
    from scipy.stats import binomtest

    interval = binomtest(count, n).proportion_ci(confidence_level=0.95, method="wilson")
    return Share(count, n, float(interval.low), float(interval.high))
