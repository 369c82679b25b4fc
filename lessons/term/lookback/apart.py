"""How far two readings of the same reed lie apart: two people, or two ways of measuring."""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from lessons.term.lookback.interval import LEVEL, Interval, Z
from lessons.term.lookback.rates import Share, share
from lessons.term.lookback.rows import RatedInTerm, ReadingInTerm
from reeds.numbers.late import np

FEWEST_PAIRS = 5  # own choice, no source: fewer say nothing of how far the next two lie apart
WITHIN_DAYS = 7.0  # own choice, no source: a reed changes
SECONDS_A_DAY = 86400.0
PEOPLE = ("player", "teacher")  # by_teacher counts them
HAND, PHOTO = "hand", "photo"
TOOLS = {"ruler": HAND, "caliper": HAND, "photo": PHOTO}


@dataclass(frozen=True)
class Apart:
    """How far the second reading lies over the first, in their unit; all None for fewer than `FEWEST_PAIRS`.

    Attributes
    ----------
    n : int
        Pairs, one a reed.
    bias : float
        Mean of second minus first; `bias_interval` is its 95 % interval.
    sd : float
        Standard deviation of these differences.
    limits : Interval
        Bias minus and plus 1.96 SD: between them lie 95 in 100 differences, as far as they are normal.
        `low_interval`, `high_interval` are the 95 % intervals of the two.
    """

    n: int
    bias: float | None = None
    bias_interval: Interval | None = None
    sd: float | None = None
    limits: Interval | None = None
    low_interval: Interval | None = None
    high_interval: Interval | None = None


@dataclass(frozen=True)
class RatedAlike:
    """Two people's ratings of one item on the same reed: equal, a step apart at most, the difference."""

    same: Share
    within_one: Share
    apart: Apart


def apart(differences: Iterable[float], limits: float = Z) -> Apart:
    """Return how far two readings lie apart.

    Parameters
    ----------
    differences : iterable of float
        Second minus first, one a reed, in any one unit and any order.
    limits : float
        So many standard deviations from the bias; the paper of 1986 takes 2.

    Raises
    ------
    ValueError
        If a difference is not finite.

    Source
    ------
    Bland and Altman, Lancet i (1986) 307-310; the variance of the limits, s^2 (1/n + z^2 / (2 (n - 1))), from
    Statistical Methods in Medical Research 8 (1999) 135-160. From memory.
    """
    array = np.sort(np.fromiter(differences, dtype=float))
    if not np.isfinite(array).all():
        raise ValueError("Only finite differences can be compared.")
    n = len(array)
    if n < FEWEST_PAIRS:
        return Apart(n)
    bias, sd = float(array.mean()), float(array.std(ddof=1))
    t = _student_t(n - 1)
    of_bias, of_limit = t * sd / math.sqrt(n), t * sd * math.sqrt(1 / n + limits**2 / (2 * (n - 1)))
    low, high = bias - limits * sd, bias + limits * sd
    around = [_about(*one) for one in ((bias, of_bias), (low, of_limit), (high, of_limit))]
    return Apart(n, bias, around[0], sd, Interval(low, high), around[1], around[2])


class Told(NamedTuple):
    """One reading to be paired: of which reed, by whom or how, what must be alike, when, and the number."""

    reed: int
    by: str
    alike: tuple[str, ...]
    at: dt.datetime
    value: float


def two_people(readings: Iterable[ReadingInTerm]) -> Apart:
    """Return the teacher's number less the player's: of one reed, at one stage, measured in the same way."""
    rows = list(readings)
    by_teacher = {r.reed for r in rows if r.by_teacher}  # few: only of these more is asked
    of_these = (r for r in rows if r.reed in by_teacher)
    told = (Told(r.reed, PEOPLE[r.by_teacher], (r.stage, r.method), r.at, r.value) for r in of_these)
    return apart(two - one for one, two in pairs(told, *PEOPLE))


def two_tools(readings: Iterable[ReadingInTerm]) -> Apart:
    """Return the photo's number less that by ruler or caliper: of one reed, at one stage."""
    rows = list(readings)
    on_photos = {r.reed for r in rows if r.method == PHOTO}
    of_these = (r for r in rows if r.reed in on_photos)
    told = (Told(r.reed, TOOLS.get(r.method, ""), (r.stage,), r.at, r.value) for r in of_these)
    return apart(two - one for one, two in pairs(told, HAND, PHOTO))


def two_ears(rated: Iterable[RatedInTerm]) -> dict[str, RatedAlike]:
    """Return how teacher and player rated how an item of the playing test spoke on the same reed, by item."""
    by_item: dict[str, list[Told]] = defaultdict(list)
    for r in rated:
        if r.speaks is not None:
            by_item[r.item].append(Told(r.reed, PEOPLE[r.by_teacher], (), r.at, r.speaks))
    found = {item: pairs(told, *PEOPLE) for item, told in by_item.items()}
    return {item: _rated_alike(both) for item, both in found.items() if both}


def pairs(told: Iterable[Told], first: str, second: str) -> list[tuple[float, float]]:
    """Return for each reed the two numbers, by both, that lie closest in time, at most `WITHIN_DAYS` apart.

    Parameters
    ----------
    told : iterable of Told
        In any order; what is by neither of the two is left out.
    first, second : str
        By whom, or how.

    Returns
    -------
    list of (float, float)
        The number of the first and of the second, one pair a reed.
    """
    rows = list(told)
    others: dict[tuple[int, tuple[str, ...]], list[Told]] = defaultdict(list)
    for row in rows:
        if row.by == second:
            others[row.reed, row.alike].append(row)
    best: dict[int, tuple[float, Told, Told]] = {}
    for one in rows:
        for two in others.get((one.reed, one.alike), ()) if one.by == first else ():
            found = (abs((two.at - one.at).total_seconds()) / SECONDS_A_DAY, one, two)
            if found[0] <= WITHIN_DAYS and (one.reed not in best or found < best[one.reed]):
                best[one.reed] = found
    return [(one.value, two.value) for _, one, two in best.values()]


def _rated_alike(both: list[tuple[float, float]]) -> RatedAlike:
    steps = [two - one for one, two in both]
    same, near = (sum(abs(step) <= most for step in steps) for most in (0, 1))
    return RatedAlike(share(same, len(steps)), share(near, len(steps)), apart(steps))


def _about(middle: float, half: float) -> Interval:
    return Interval(middle - half, middle + half)


@lru_cache(maxsize=4096)
def _student_t(freedom: int) -> float:
    """Student's t that LEVEL lies within on both sides."""
    # scipy.stats takes a second to import: only who opens a term pays for it
    from scipy.stats import t

    return float(t.ppf((1 + LEVEL) / 2, freedom))
