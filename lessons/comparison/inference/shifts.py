"""By how much one group's outcomes lie over the other's, within strata."""

from __future__ import annotations

from lessons.comparison.inference.shares import Z95, Effect
from lessons.comparison.inference.strata import Floats, Ints
from reeds.numbers.late import np


def shift(outcome: Floats, one: Floats, stratum: Ints, z: float = Z95) -> Effect:
    """Return by how much the one group's outcomes lie over the other's, with an interval.

    Every reed of the one group is taken less every reed of the other in its stratum; the value is the
    weighted median of these differences. The interval holds the shifts that van Elteren's test keeps.

    Parameters
    ----------
    outcome : float array, shape (n,)
    one : float array, shape (n,)
        1 for the one group, 0 for the other.
    stratum : int array, shape (n,)
    z : float
        The normal quantile of the interval.

    Returns
    -------
    Effect
        In the outcome's unit; the limits are differences that occur, so with ties they lie rather too wide.

    Source
    ------
    Hodges and Lehmann, Annals of Mathematical Statistics 34 (1963) 598-611, for one stratum; the weights of
    van Elteren (1960); both from memory.
    """
    differences, weights, variance = _differences(outcome, one, stratum)
    if not len(differences):
        return Effect(0.0, -np.inf, np.inf)
    order = np.argsort(differences, kind="stable")
    differences, reached = differences[order], np.cumsum(weights[order])
    half, room = reached[-1] / 2, z * np.sqrt(variance)
    return Effect(
        _median(differences, reached, half),
        float(differences[0]) if half - room <= 0 else _at(differences, reached, half - room),
        _at(differences, reached, half + room),
    )


def _at(differences: Floats, reached: Floats, weight: float) -> float:
    """Return the difference at which so much weight is reached, the last where it never is."""
    place = int(np.searchsorted(reached, weight * (1 - 1e-12)))
    return float(differences[min(place, len(differences) - 1)])


def _median(differences: Floats, reached: Floats, half: float) -> float:
    above = int(np.searchsorted(reached, half * (1 + 1e-12), side="right"))
    return (_at(differences, reached, half) + float(differences[min(above, len(differences) - 1)])) / 2


def _differences(outcome: Floats, one: Floats, stratum: Ints) -> tuple[Floats, Floats, float]:
    """Return all differences within strata, their weights, and the variance of half their weight."""
    found, weights, variance = [], [], 0.0
    for block in range(int(stratum[-1]) + 1 if len(stratum) else 0):
        here = stratum == block
        a, b = outcome[here & (one == 1)], outcome[here & (one == 0)]
        size = len(a) + len(b) + 1
        found.append((a[:, None] - b[None, :]).ravel())
        weights.append(np.full(len(a) * len(b), 1 / size))
        variance += len(a) * len(b) * size / 12 / size**2
    if not found:
        return np.empty(0), np.empty(0), 0.0
    return np.concatenate(found), np.concatenate(weights), variance
