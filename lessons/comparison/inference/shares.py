"""Two shares within strata: their difference, with an interval that agrees with the test of no difference."""

from __future__ import annotations

from dataclasses import dataclass

from lessons.comparison.inference.strata import Floats, Ints
from reeds.numbers.late import np

Z95 = 1.959963984540054


@dataclass(frozen=True)
class Effect:
    """A difference between two groups, with its interval; low <= value <= high.

    Of shares from -1 to 1; of a shift in the unit of the outcome; of pairs from 0 to 1, 0.5 for nothing.
    """

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class _Tables:
    """The strata's counts: of one group and the other, each with its yeses; float arrays, shape (h,)."""

    n1: Floats
    x1: Floats
    n0: Floats
    x0: Floats

    @property
    def weights(self) -> Floats:
        return self.n1 * self.n0 / (self.n1 + self.n0)


def difference_of_shares(outcome: Floats, one: Floats, stratum: Ints, z: float = Z95) -> Effect:
    """Return the share of yes in the one group less that in the other, weighed over strata.

    Parameters
    ----------
    outcome : float array, shape (n,)
        0 or 1.
    one : float array, shape (n,)
        1 for the one group, 0 for the other; both occur in every stratum that counts, others are left out.
    stratum : int array, shape (n,)
    z : float
        The normal quantile of the interval: 1.96 for 95 %.

    Returns
    -------
    Effect
        Mantel and Haenszel's weighted difference; its interval holds the differences that a score test
        does not reject. It leaves out 0 just where that test (Mantel and Haenszel's) rejects no difference.

    Source
    ------
    Miettinen and Nurminen, Statistics in Medicine 4 (1985) 213-226; the restricted shares in the closed form
    of Farrington and Manning, Statistics in Medicine 9 (1990) 1447-1454; both from memory.
    """
    tables = _tables(outcome, one, stratum)
    if not len(tables.n1):
        return Effect(0.0, -1.0, 1.0)
    weights = tables.weights
    by_stratum = tables.x1 / tables.n1 - tables.x0 / tables.n0
    value = float((weights * by_stratum).sum() / weights.sum())
    return Effect(value, _limit(tables, value, -z), _limit(tables, value, z))


def _tables(outcome: Floats, one: Floats, stratum: Ints) -> _Tables:
    def counted(weights: Floats) -> Floats:
        return np.bincount(stratum, weights=weights).astype(float)

    n1, n0 = counted(one), counted(1 - one)
    both = (n1 > 0) & (n0 > 0)
    return _Tables(n1[both], counted(one * outcome)[both], n0[both], counted((1 - one) * outcome)[both])


def _limit(tables: _Tables, value: float, z: float) -> float:
    """Return where the score test stands at `z`: below the value for z < 0, else above it."""
    near, far = value, 1.0 if z > 0 else -1.0
    for _halving in range(50):
        middle = (near + far) / 2
        if abs(value - middle) > abs(z) * _deviation(tables, middle):
            far = middle
        else:
            near = middle
    return (near + far) / 2


def _deviation(tables: _Tables, delta: float) -> float:
    """Return the standard deviation of the weighted difference if the true one is `delta`."""
    p1, p0 = restricted_shares(tables.x1, tables.n1, tables.x0, tables.n0, delta)
    n, weights = tables.n1 + tables.n0, tables.weights
    variance = (p1 * (1 - p1) / tables.n1 + p0 * (1 - p0) / tables.n0) * n / (n - 1)
    return float(np.sqrt((weights**2 * variance).sum()) / weights.sum())


def restricted_shares(x1: Floats, n1: Floats, x0: Floats, n0: Floats, delta: float) -> tuple[Floats, Floats]:
    """Return the most likely shares of both groups if the first is greater by `delta`, stratum by stratum.

    All arrays of shape (h,), n1 and n0 at least 1, -1 <= delta <= 1; each share from 0 to 1.
    """
    ratio, q1, q0 = n0 / n1, x1 / n1, x0 / n0
    a = 1 + ratio
    b = -(a + q1 + ratio * q0 + delta * (ratio + 2))
    c = delta**2 + delta * (2 * q1 + a) + q1 + ratio * q0
    d = -q1 * delta * (1 + delta)
    v = (b / (3 * a)) ** 3 - b * c / (6 * a**2) + d / (2 * a)
    u = np.where(v < 0, -1.0, 1.0) * np.sqrt(np.maximum((b / (3 * a)) ** 2 - c / (3 * a), 0.0))
    cosine = np.divide(v, u**3, out=np.zeros_like(v), where=np.abs(u) > 1e-12)
    angle = (np.pi + np.arccos(np.clip(cosine, -1.0, 1.0))) / 3
    lowest, highest = max(0.0, delta), min(1.0, 1.0 + delta)
    first = np.clip(2 * u * np.cos(angle) - b / (3 * a), lowest, highest)
    return first, np.clip(first - delta, 0.0, 1.0)
