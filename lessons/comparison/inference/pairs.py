"""In how many pairs of one stratum, of two that did not come out alike, the one with more came out better."""

from __future__ import annotations

from lessons.comparison.inference.shares import Z95, Effect
from lessons.comparison.inference.strata import Floats, Ints
from reeds.numbers.late import np


def concordance(factor: Floats, outcome: Floats, stratum: Ints, z: float = Z95) -> Effect:
    """Return the share of pairs in which the one with more of the factor came out better.

    Pairs are two reeds of one stratum that differ in both, in the factor and in how they came out.

    Parameters
    ----------
    factor : float array, shape (n,)
        An amount, or 1 for one group and 0 for the other.
    outcome : float array, shape (n,)
    stratum : int array, shape (n,)
        Ascending.
    z : float
        The normal quantile of the interval.

    Returns
    -------
    Effect
        From 0 to 1, 0.5 where there is nothing. The interval has a constant width on the scale of Fisher's z:
        that of Kendall's S under permutation, by Student's law with two degrees of freedom lost a stratum.
        Where every pair says the same, it is Wilson's interval of half as many pairs as there are reeds,
        since so many share no reed.

    Source
    ------
    Fieller, Hartley and Pearson, Biometrika 44 (1957) 470-481: the variance of Fisher's z of Kendall's tau
    hardly depends on tau. Carried over to strata, and to the measure for ties of Goodman and Kruskal, Journal
    of the American Statistical Association 49 (1954) 732-764, by us; coverage measured in tests/accuracy.
    """
    blocks = np.split(np.arange(len(stratum)), np.flatnonzero(np.diff(stratum)) + 1)
    signs = [_signs(factor[here], outcome[here]) for here in blocks]
    total = sum(float(np.abs(those).sum()) for those in signs) / 2
    if total == 0:
        return Effect(0.5, 0.0, 1.0)
    d = sum(float(those.sum()) for those in signs) / 2 / total
    if abs(d) > 1 - 1e-9:
        return _all_alike(len(factor), d > 0, z)
    variance = sum(variance_of_s(factor[here], outcome[here]) for here in blocks)
    centre, room = np.arctanh(d), _student(z, len(factor) - 2 * len(blocks)) * np.sqrt(variance) / total
    low, high = np.tanh(centre - room), np.tanh(centre + room)
    return Effect((d + 1) / 2, (float(low) + 1) / 2, (float(high) + 1) / 2)


def _student(z: float, freedom: int) -> float:
    """Return Student's quantile for the normal one, to first order: wider where reeds are few."""
    return z + (z**3 + z) / (4 * max(1, freedom))


def _signs(factor: Floats, outcome: Floats) -> Floats:
    """Return for each two reeds of one stratum whether they agree (1) or not (-1), else 0; shape (n, n)."""
    signs: Floats = np.sign(factor[:, None] - factor[None, :]) * np.sign(outcome[:, None] - outcome[None, :])
    return signs


def variance_of_s(x: Floats, y: Floats) -> float:
    """Return the variance of Kendall's S of one stratum if all orders of y are equally likely.

    Parameters
    ----------
    x, y : float arrays, shape (n,), n at least 1

    Source
    ------
    Kendall, Rank Correlation Methods, 4th edition (1970), chapter 4, with ties in both; from memory.
    """
    n = len(x)
    if n < 2:
        return 0.0
    t, u = (np.unique(values, return_counts=True)[1].astype(float) for values in (x, y))
    plain = n * (n - 1) * (2 * n + 5) - sum((c * (c - 1) * (2 * c + 5)).sum() for c in (t, u))
    twos = (t * (t - 1)).sum() * (u * (u - 1)).sum() / (2 * n * (n - 1))
    threes = (t * (t - 1) * (t - 2)).sum() * (u * (u - 1) * (u - 2)).sum()
    return float(plain / 18 + twos + (threes / (9 * n * (n - 1) * (n - 2)) if n > 2 else 0.0))


def _all_alike(reeds: int, positive: bool, z: float) -> Effect:
    """Return Wilson's interval of all of half as many pairs as reeds, or of none of them."""
    pairs = max(1, reeds // 2)
    low = pairs / (pairs + z**2)
    return Effect(1.0, low, 1.0) if positive else Effect(0.0, 0.0, 1 - low)
