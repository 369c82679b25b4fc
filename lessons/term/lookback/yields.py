"""How many reeds came to play, of those of which it is known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lessons.term.lookback.interval import LEVEL, Interval
from lessons.term.lookback.rates import Share, share
from lessons.term.lookback.rows import OPEN, PLAYED, ReedInTerm
from reeds.numbers.late import np

FEWEST_STUDENTS = 5  # own choice, no source: of fewer, a resample shows mostly the same ones again
RESAMPLES = 2000
SEED = 20260901  # any: the same rows give the same interval


@dataclass(frozen=True)
class Yield:
    """How many reeds came to play.

    Attributes
    ----------
    share : Share
        Of the reeds with an outcome; its interval is Wilson's, or the studio's where `by_students`.
    open : int
        Reeds that are neither: not counted in the share.
    students : int
        Whose reeds have an outcome.
    by_students : bool
        Whether the interval allows for students differing from each other.
    """

    share: Share
    open: int
    students: int
    by_students: bool = False


def came_to_play(reeds: Iterable[ReedInTerm], of_studio: bool = False) -> Yield:
    """Return how many of the reeds with an outcome came to play, open ones apart.

    Parameters
    ----------
    reeds : iterable of ReedInTerm
        In any order.
    of_studio : bool
        Whether the interval is of the studio: then students are resampled, if there are `FEWEST_STUDENTS`.

    Returns
    -------
    Yield
        The studio's interval is never narrower than Wilson's: where all students did alike by chance,
        resampling them knows no doubt at all.
    """
    by_student: dict[int, list[int]] = {}
    still_open = 0
    for reed in reeds:
        if reed.outcome == OPEN:
            still_open += 1
            continue
        counts = by_student.setdefault(reed.student, [0, 0])
        counts[0] += reed.outcome == PLAYED
        counts[1] += 1
    whole = share(sum(c[0] for c in by_student.values()), sum(c[1] for c in by_student.values()))
    if not of_studio or len(by_student) < FEWEST_STUDENTS:
        return Yield(whole, still_open, len(by_student))
    low, high = resampled(list(by_student.values()))
    wider = Share(whole.count, whole.n, min(low, whole.low), max(high, whole.high))
    return Yield(wider, still_open, len(by_student), by_students=True)


def resampled(counts: Iterable[Iterable[int]]) -> Interval:
    """Return the interval of a share whose items come in bunches, by drawing bunches anew.

    Parameters
    ----------
    counts : iterable of (count, n), one a bunch
        In any order: the interval does not depend on it; every n >= 1.

    Returns
    -------
    Interval
        Percentiles of `RESAMPLES` draws with replacement of as many bunches, always the same draws.

    Raises
    ------
    ValueError
        If there is no bunch.

    Source
    ------
    Davison and Hinkley, Bootstrap Methods and their Application (1997), 3.8, resampling whole clusters; the
    percentile interval after Efron (1979). From memory.
    """
    bunches = np.array(sorted(tuple(bunch) for bunch in counts), dtype=float)
    if not len(bunches):
        raise ValueError("An interval by resampling needs somebody to draw.")
    size = len(bunches)
    drawn = np.random.default_rng(SEED).multinomial(size, np.full(size, 1 / size), RESAMPLES)
    shares = (drawn @ bunches[:, 0]) / (drawn @ bunches[:, 1])
    low, high = np.quantile(shares, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
    return Interval(float(low), float(high))
