"""Is it any better than the share itself? Each student's reeds foretold from everybody else's."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from lessons.foretelling.chances.columns import Scale, Table, scale_of
from lessons.foretelling.chances.logistic import Fitted, fit, likeliest, mean_chance
from reeds.numbers.late import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

Floats: TypeAlias = "NDArray[np.float64]"

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


def learn(known: Table) -> Learnt:
    """Return what these reeds teach, each of which has come to play or was given up."""
    scale = scale_of(known)
    x, _doubt = scale.standard(known)
    return Learnt(scale, likeliest(x, known.plays, known.students))


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


def judge(known: Table, learnt: Learnt) -> Judged | None:
    """Return how well each student's reeds are foretold from all others'; None with too few students.

    The share it is held against is learnt from the same others. Of `learnt`, which all of them taught, only
    the scale of the columns and the two priors are taken. The interval takes the student, not the reed, as
    what was drawn: reeds of one hand are alike.

    Source
    ------
    Leave-one-group-out cross-validation with the logarithmic score (Gneiting and Raftery, JASA 102 (2007)
    359-378); interval by the variance among groups with Student's t at groups - 1 (from memory).
    """
    students = sorted(set(known.students.tolist()))
    if len(students) < LEAST_STUDENTS:
        return None
    x, doubt = learnt.scale.standard(known)
    chance = np.zeros(len(x))
    for one in students:
        own = known.students == one
        others = fit(x[~own], known.plays[~own], known.students[~own], *learnt.fitted.without(one))
        chance[own] = mean_chance(*others.log_odds(x[own], doubt[own], known.students[own]))
    gains = [_gain(known.plays, chance, known.students == one) for one in students]
    return Judged(*_interval(gains), _grouped(chance, known.plays))


def _gain(plays: Floats, chance: Floats, own: NDArray[np.bool_]) -> Floats:
    """By how much each reed of one student is told better than by the share of the others', (n,)."""
    # half a reed each way, so that a share of none or all is not taken for certain
    share = (plays[~own].sum() + 0.5) / (len(plays[~own]) + 1.0)
    return _score(plays[own], chance[own]) - _score(plays[own], share)


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
