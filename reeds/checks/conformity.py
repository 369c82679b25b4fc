"""How probable it is that a true value lies within limits, and what follows from that."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

from reeds.checks.findings import Outcome
from reeds.numbers.measured import Measured

SOURCE = "JCGM 106:2012, clause 7"
ENOUGH = 0.95
_STANDARD = NormalDist()
# the half width, in u, of the middle 95 % of a normal distribution: 1.96
K95 = _STANDARD.inv_cdf(0.975)
# two numbers of one thing over so many joint u apart contradict each other: about one honest pair in a
# hundred does (2.576 in a normal distribution)
COVERAGE = 2.6


@dataclass(frozen=True)
class Chances:
    """Probabilities that the true value is below, within and above; they sum to 1."""

    below: float
    within: float
    above: float


def _chance_below(measured: Measured, limit: float) -> float:
    if measured.u == 0:
        return 1.0 if measured.value < limit else 0.0
    return _STANDARD.cdf((limit - measured.value) / measured.u)


def _chance_above(measured: Measured, limit: float) -> float:
    return _chance_below(Measured(-measured.value, measured.u), -limit)


def chances(measured: Measured, low: float | None, high: float | None) -> Chances:
    """Return how probable it is that the true value lies below, within and above [low, high].

    Parameters
    ----------
    measured : Measured
        A normal distribution is assumed; with u = 0 the answer is exactly 0 or 1 and a value on a limit
        is within.
    low, high : float or None
        In the unit of `measured`; None where there is no limit on that side.

    Raises
    ------
    ValueError
        If low is over high.

    Source
    ------
    JCGM 106:2012, clause 7.
    """
    if low is not None and high is not None and low > high:
        raise ValueError("The low limit is over the high limit.")
    below = 0.0 if low is None else _chance_below(measured, low)
    above = 0.0 if high is None else _chance_above(measured, high)
    return Chances(below, max(0.0, 1.0 - below - above), above)


def narrowest(u: float) -> float:
    """Return the width of the narrowest range in which a number with this u can be within at 95 %: 3.92 u.

    In the unit of `u`. Source: own arithmetic on JCGM 106:2012, clause 7 (the best case is a value in the
    middle).
    """
    return 2 * K95 * u


def can_decide(u: float, low: float | None, high: float | None) -> bool:
    """Return whether any value with this u could be within at 95 %: the range is at least `narrowest` wide.

    All in one unit; a range open on one side can always be decided.
    """
    return low is None or high is None or high - low >= narrowest(u)


def judge(measured: Measured, low: float | None, high: float | None) -> tuple[Outcome, float]:
    """Return the outcome of comparing a number with limits, and its probability.

    Below, within or above where that is at least 95 % probable, with that probability; else undecidable
    where the range is too narrow for this u, else too close to call, both with the probability of being
    within. A value at an aim inside the limits is never below or above: each is then at most 50 %.
    Source: JCGM 106:2012, clause 7; the 95 % is a choice (ISO 14253-1:2017 has the same default).
    """
    found = chances(measured, low, high)
    if found.below >= ENOUGH:
        return Outcome.BELOW, found.below
    if found.above >= ENOUGH:
        return Outcome.ABOVE, found.above
    if found.within >= ENOUGH:
        return Outcome.WITHIN, found.within
    undecided = Outcome.TOO_CLOSE if can_decide(measured.u, low, high) else Outcome.UNDECIDABLE
    return undecided, found.within
