"""How long reeds play, those that still play among them.

The curve is ten lines of numpy: scipy has it too, but its interval warns, for the whole process, wherever all
have ended, which reeds do.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from lessons.term.lookback.interval import Interval, Z
from lessons.term.lookback.rates import share
from lessons.term.lookback.rows import LifeInTerm
from reeds.numbers.late import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

FloatArray: TypeAlias = "NDArray[np.float64]"
Counts: TypeAlias = "NDArray[np.int64]"


class LastingStep(NamedTuple):
    """A day on which reeds ended: how many, of how many still followed, the share that lasts beyond it."""

    day: float
    ended: int
    at_risk: int
    share: float
    interval: Interval


@dataclass(frozen=True)
class Lasting:
    """How long reeds play.

    Attributes
    ----------
    n, ended : int
        Reeds that came to play; of them, those played out or given up. The others still play.
    steps : tuple of LastingStep
        One a day on which a reed ended, in order; before the first the share is 1.
    median : float or None
        Days after which half have ended; None where it is not reached: too many still play.
    low, high : float or None
        Interval of the median; None where it cannot be told how long at least, or at most.
    seen_until : float
        The last day of which anything is known.
    """

    n: int
    ended: int
    steps: tuple[LastingStep, ...]
    median: float | None
    low: float | None
    high: float | None
    seen_until: float


def lasting(lives: Iterable[LifeInTerm]) -> Lasting:
    """Return how long reeds play, from the day they came to play on.

    A reed that still plays counts until it was last noted that it played: of the time after nobody knows.
    """
    rows = list(lives)
    return kaplan_meier(map(days_followed, rows), (life.ended_at is not None for life in rows))


def days_followed(life: LifeInTerm) -> int:
    """Return the days from the first playing to the end, or to the last time it was noted that it played."""
    return ((life.ended_at or life.played_last).date() - life.played_from.date()).days


def kaplan_meier(times: Iterable[float], ended: Iterable[bool]) -> Lasting:
    """Return the product-limit estimate of how many last beyond each time.

    Parameters
    ----------
    times : iterable of float
        How long each was followed, in one unit, >= 0; in any order.
    ended : iterable of bool
        Whether it ended then; otherwise it was last seen then, lasting still. As many as `times`.

    Returns
    -------
    Lasting
        In the unit of `times`. Where an end and a last sight fall on the same time, the end came first.

    Raises
    ------
    ValueError
        If a time is negative or not finite, or there are not as many of both.

    Source
    ------
    Kaplan and Meier, JASA 53 (1958) 457-481; variance after Greenwood (1926), interval on the scale of
    log(-log S); median and its limits, where they come to one half, after Brookmeyer and Crowley, Biometrics
    38 (1982) 29-41. From memory; tested against scipy and lifelines.
    """
    followed, over = np.fromiter(times, dtype=float), np.fromiter(ended, dtype=bool)
    if len(followed) != len(over) or not np.isfinite(followed).all() or (followed < 0).any():
        raise ValueError("Each life has a finite time that is not negative, and ended then or not.")
    days, counts = np.unique(followed[over], return_counts=True)
    at_risk = len(followed) - np.searchsorted(np.sort(followed), days)
    steps = _steps(days, counts, at_risk)
    return Lasting(
        n=len(followed),
        ended=int(over.sum()),
        steps=steps,
        median=_first(steps, [step.share for step in steps]),
        low=_first(steps, [step.interval.low for step in steps]),
        high=_first(steps, [step.interval.high for step in steps]),
        seen_until=float(followed.max(initial=0.0)),
    )


def _steps(days: FloatArray, counts: Counts, at_risk: Counts) -> tuple[LastingStep, ...]:
    shares: FloatArray = np.cumprod(1 - counts / at_risk).astype(np.float64)
    bounds = _bounds(shares, counts, at_risk)
    rows = zip(days.tolist(), counts.tolist(), at_risk.tolist(), shares.tolist(), bounds, strict=True)
    return tuple(LastingStep(*row) for row in rows)


def _bounds(shares: FloatArray, counts: Counts, at_risk: Counts) -> list[Interval]:
    lasts = shares > 0
    spread = np.cumsum(counts[lasts] / (at_risk[lasts] * (at_risk[lasts] - counts[lasts])))
    wide = Z * np.sqrt(spread) / np.log(shares[lasts])
    ends = zip(shares[lasts] ** np.exp(-wide), shares[lasts] ** np.exp(wide), strict=True)
    bounds = [Interval(float(low), float(high)) for low, high in ends]
    if len(bounds) < len(
        shares
    ):  # all have ended, where the formula has no answer: Wilson's for none of the last
        of_the_last = share(0, int(at_risk[-1])).high
        bounds.append(Interval(0.0, min([of_the_last, *(bound.high for bound in bounds[-1:])])))
    return bounds


def _first(steps: tuple[LastingStep, ...], shares: list[float]) -> float | None:
    """The first day on which no more than half last."""
    half = 0.5 + 1e-9  # a product of many shares misses it by its last digits
    return next((step.day for step, share in zip(steps, shares, strict=True) if share <= half), None)
