"""Is it any better than the share itself? Each student's reeds foretold from everybody else's."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lessons.foretelling.chances.columns import Scale, Table, scale_of
from lessons.foretelling.chances.logistic import Fitted, Priors, fit, likeliest, mean_chance

Floats = NDArray[np.float64]

# own choice, no source: fewer students cannot say how it fares with one it has not seen
LEAST_STUDENTS = 3
GROUPS = 5


class Learnt(NamedTuple):
    """Where the numbers of the columns lie and what they say, learnt together."""

    scale: Scale
    fitted: Fitted

    def foretell(self, coming: Table) -> tuple[Floats, Floats]:
        """Return the log odds of blanks and their variance, each of shape (n,)."""
        return self.fitted.log_odds(*self.scale.standard(coming), coming.students)


def learn(known: Table, priors: Priors | None = None) -> Learnt:
    """Return what these reeds teach, each of which has come to play or was given up.

    `priors` where they are known already; else they are those under which these outcomes are likeliest.
    """
    scale = scale_of(known)
    x, _doubt = scale.standard(known)
    given = priors or likeliest(x, known.plays, known.students)
    return Learnt(scale, fit(x, known.plays, known.students, given))


class Group(NamedTuple):
    """Reeds with like chances: how many, the mean of what was foretold, how many came to play."""

    n: int
    foretold: float
    played: int


@dataclass(frozen=True)
class Judged:
    """How the model fares with students it has not seen.

    Attributes
    ----------
    gain, low, high : float
        By how much the log score of a reed is better than that of the share alone, mean over the reeds, and
        its 95 % interval; natural logarithms.
    groups : tuple of Group
        From the least chance to the greatest, each a fifth of the reeds.
    """

    gain: float
    low: float
    high: float
    groups: tuple[Group, ...]

    @property
    def is_better(self) -> bool:
        return self.low > 0.0


def judge(known: Table, priors: Priors) -> Judged | None:
    """Return how well each student's reeds are foretold from all others'; None with too few students.

    `priors` are two numbers learnt from all of them, once.

    The share it is held against is learnt from the same others. The interval takes the student, not the
    reed, as what was drawn: reeds of one hand are alike.

    Source
    ------
    Leave-one-group-out cross-validation with the logarithmic score (Gneiting and Raftery, JASA 102 (2007)
    359-378); interval by the variance among groups with Student's t at groups - 1 (from memory).
    """
    students = sorted(set(known.students.tolist()))
    if len(students) < LEAST_STUDENTS:
        return None
    parts = [(known.only(known.students != one), known.only(known.students == one)) for one in students]
    chances = [mean_chance(*learn(others, priors).foretell(theirs)) for others, theirs in parts]
    gains = [_gain(others, theirs, chance) for (others, theirs), chance in zip(parts, chances, strict=True)]
    played = np.concatenate([theirs.plays for _others, theirs in parts])
    return Judged(*_interval(gains), _grouped(np.concatenate(chances), played))


def _gain(others: Table, theirs: Table, chance: Floats) -> Floats:
    """By how much each reed of one student is told better than by the share of the others', (n,)."""
    # half a reed each way, so that a share of none or all is not taken for certain
    share = (others.plays.sum() + 0.5) / (len(others.plays) + 1.0)
    return _score(theirs.plays, chance) - _score(theirs.plays, share)


def _score(plays: Floats, chance: Floats | float) -> Floats:
    return np.log(np.where(plays > 0.0, chance, 1.0 - chance))


def _interval(gains: Sequence[Floats]) -> tuple[float, float, float]:
    """Mean over all reeds, and its 95 % interval with the groups as what was drawn."""
    from scipy.stats import t  # slow to import: only who asks pays for it

    n, groups = sum(map(len, gains)), len(gains)
    mean = float(sum(gain.sum() for gain in gains) / n)
    off = sum(float((gain - mean).sum()) ** 2 for gain in gains)
    half = float(t.ppf(0.975, groups - 1)) * math.sqrt(off * groups / (groups - 1)) / n
    return mean, mean - half, mean + half


def _grouped(chance: Floats, plays: Floats) -> tuple[Group, ...]:
    order = np.argsort(chance, kind="stable")
    return tuple(
        Group(len(part), float(chance[part].mean()), int(plays[part].sum()))
        for part in np.array_split(order, GROUPS)
        if len(part)
    )
