"""One question answered: cells, test, effects with their intervals, and what may be said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from statistics import NormalDist

from lessons.comparison.inference.association import PERMUTATIONS, Association, association
from lessons.comparison.inference.pairs import concordance
from lessons.comparison.inference.shares import Effect, difference_of_shares
from lessons.comparison.inference.shifts import shift
from lessons.comparison.inference.strata import Case, Laid, laid

ALPHA = 0.05
# below this no figure is shown: four of each in one stratum are the fewest that can say anything at all
FEWEST_TELLING = 8


class Measure(Enum):
    """How far groups are from each other: the value that means nothing differs is its `nothing`."""

    SHARES = "difference of shares"
    SHIFT = "difference in the outcome's unit"
    PAIRS = "share of pairs in which the one came out better"

    @property
    def nothing(self) -> float:
        return 0.5 if self is Measure.PAIRS else 0.0


class Verdict(Enum):
    """What may be said."""

    TOO_FEW = "too few"
    DIFFERS = "differs"
    ALIKE = "alike"
    OPEN = "open"


@dataclass(frozen=True)
class Contrast:
    """One group against another, '' for all others; both '' for an amount."""

    level: str
    against: str
    effect: Effect


@dataclass(frozen=True)
class Compared:
    """What a comparison comes to.

    Attributes
    ----------
    known : int
        Cases in all.
    telling : int
        Those in strata where the factor differs: only they say something.
    strata : int
        How many such strata.
    levels : tuple of str
        The groups that are compared; empty for an amount.
    measure : Measure
        What the effects are: of amounts always pairs.
    association : Association
    contrasts : tuple of Contrast
        One for two groups and for an amount, one a group for several; empty where nothing tells.
    """

    known: int
    telling: int
    strata: int
    levels: tuple[str, ...]
    measure: Measure
    association: Association
    contrasts: tuple[Contrast, ...]

    @property
    def is_too_few(self) -> bool:
        return self.telling < FEWEST_TELLING or not self.contrasts

    @property
    def p(self) -> float:
        """The p that counts beside other questions: 1 where nothing may be said yet."""
        return 1.0 if self.is_too_few else self.association.p

    @property
    def is_of_amounts(self) -> bool:
        return not self.levels

    def verdict(self, p: float, matters: float) -> Verdict:
        """Return what may be said.

        Parameters
        ----------
        p : float
            Its p beside the other questions that were asked (see `holm`).
        matters : float
            The smallest effect worth knowing, as its distance from nothing, in the unit of `measure`.
        """
        if self.is_too_few:
            return Verdict.TOO_FEW
        if p <= ALPHA:
            return Verdict.DIFFERS
        nothing = self.measure.nothing
        small = all(
            nothing - matters < one.effect.low and one.effect.high < nothing + matters
            for one in self.contrasts
        )
        return Verdict.ALIKE if small else Verdict.OPEN


def compare(
    cases: Sequence[Case],
    measure: Measure,
    permutations: int = PERMUTATIONS,
    first: Sequence[str] = (),
) -> Compared:
    """Compare outcomes by their factor, within strata.

    Parameters
    ----------
    cases : sequence of Case
        In any order; not changed.
    measure : Measure
        How groups are told apart; SHARES only where every outcome is 0 or 1. Amounts are told in pairs.
    permutations : int
        See `association`.
    first : sequence of str
        Groups to be told before the others, which follow by name.

    Raises
    ------
    ValueError
        If an outcome or an amount is not finite.
    """
    data = laid(cases)
    measure = measure if data.levels else Measure.PAIRS
    levels = sorted(data.levels, key=lambda one: (first.index(one) if one in first else len(first), one))
    return Compared(
        known=len(cases),
        telling=data.n,
        strata=data.strata,
        levels=tuple(levels),
        measure=measure,
        association=association(data, permutations),
        contrasts=tuple(_contrasts(data, levels, measure)) if data.n else (),
    )


def _contrasts(data: Laid, levels: Sequence[str], measure: Measure) -> list[Contrast]:
    if not levels:
        return [Contrast("", "", concordance(data.factor, data.outcome, data.stratum))]
    if len(levels) == 2:
        return [Contrast(levels[0], levels[1], _effect(data, levels[0], measure, 1))]
    return [Contrast(level, "", _effect(data, level, measure, len(levels))) for level in levels]


def _effect(data: Laid, level: str, measure: Measure, among: int) -> Effect:
    """Return one group against the others; among several so wide that all intervals hold together."""
    z = NormalDist().inv_cdf(1 - ALPHA / 2 / among)
    one = data.indicator(data.levels.index(level))
    if measure is Measure.PAIRS:
        return concordance(one, data.outcome, data.stratum, z)
    apart = difference_of_shares if measure is Measure.SHARES else shift
    return apart(data.outcome, one, data.stratum, z)


@dataclass(frozen=True)
class Cell:
    """The outcomes of one group in one stratum, ascending."""

    stratum: tuple[int, ...]
    level: str
    outcomes: tuple[float, ...]


def cells(cases: Sequence[Case]) -> list[Cell]:
    """Return every cell that holds a case, by stratum and group; amounts must be named groups by then."""
    found: dict[tuple[tuple[int, ...], str], list[float]] = {}
    for case in cases:
        found.setdefault((case.stratum, str(case.factor)), []).append(case.outcome)
    return [Cell(stratum, level, tuple(sorted(found[stratum, level]))) for stratum, level in sorted(found)]
