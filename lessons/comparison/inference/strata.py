"""Reeds that may be compared with each other: those of one student and one part of the term."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from reeds.numbers.late import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

Floats: TypeAlias = "NDArray[np.float64]"
Ints: TypeAlias = "NDArray[np.int64]"


class Case(NamedTuple):
    """One reed in a comparison.

    Attributes
    ----------
    stratum : tuple of int
        Whom and when it may be compared with: only cases of equal stratum are.
    factor : str or float
        What differs: the name of a group, or an amount; all cases of one comparison of one kind.
    outcome : float
        How it came out, finite: 1 or 0 for yes or no, else more is more.
    """

    stratum: tuple[int, ...]
    factor: str | float
    outcome: float


@dataclass(frozen=True)
class Laid:
    """Cases laid out for computing, each stratum one block.

    Attributes
    ----------
    stratum : int array, shape (n,)
        0, 0, …, 1, 1, …: ascending.
    levels : tuple of str
        The groups by name; empty for an amount.
    factor : float array, shape (n,)
        The place of its group in `levels`, or the amount.
    outcome : float array, shape (n,)
    """

    stratum: Ints
    levels: tuple[str, ...]
    factor: Floats
    outcome: Floats

    @property
    def n(self) -> int:
        return len(self.stratum)

    @property
    def strata(self) -> int:
        return int(self.stratum[-1]) + 1 if self.n else 0

    @property
    def is_yes_or_no(self) -> bool:
        """Whether every outcome is 0 or 1."""
        return bool(np.isin(self.outcome, (0.0, 1.0)).all())

    def within(self, values: Floats) -> Floats:
        """Return `values`, shape (n,), less the mean of their stratum."""
        sizes = np.bincount(self.stratum)
        means = np.bincount(self.stratum, weights=values) / sizes
        centred: Floats = values - means[self.stratum]
        return centred

    def indicator(self, level: int) -> Floats:
        """Return 1.0 where the case is of this level, else 0.0; shape (n,)."""
        chosen: Floats = (self.factor == level).astype(float)
        return chosen


def laid(cases: Sequence[Case]) -> Laid:
    """Lay out the cases that tell something: those of strata in which the factor differs.

    A stratum in which all have the same factor says nothing of it and is left out. The order of `cases`
    does not matter; they are not changed.

    Raises
    ------
    ValueError
        If an outcome or an amount is not finite.
    """
    numbers = [v for case in cases for v in (case.factor, case.outcome) if not isinstance(v, str)]
    if not np.isfinite(np.asarray(numbers, dtype=float)).all():
        raise ValueError("Only finite numbers can be compared.")
    differing = _differing(cases)
    rows = sorted((case for case in cases if case.stratum in differing), key=_order)
    place = {stratum: number for number, stratum in enumerate(sorted(differing))}
    levels = tuple(sorted({case.factor for case in rows if isinstance(case.factor, str)}))
    factors = [levels.index(f) if isinstance(f, str) else f for f in (case.factor for case in rows)]
    return Laid(
        np.asarray([place[case.stratum] for case in rows], dtype=np.int64),
        levels,
        np.asarray(factors, dtype=float),
        np.asarray([case.outcome for case in rows], dtype=float),
    )


def _differing(cases: Sequence[Case]) -> set[tuple[int, ...]]:
    factors: dict[tuple[int, ...], set[str | float]] = defaultdict(set)
    for case in cases:
        factors[case.stratum].add(case.factor)
    return {stratum for stratum, those in factors.items() if len(those) > 1}


def _order(case: Case) -> tuple[tuple[int, ...], str, float, float]:
    name, amount = (case.factor, 0.0) if isinstance(case.factor, str) else ("", case.factor)
    return case.stratum, name, amount, case.outcome


def midranks(values: Floats, stratum: Ints) -> Floats:
    """Return the rank of each value within its stratum over (size + 1), ties sharing their mean rank.

    Parameters
    ----------
    values, stratum : arrays, shape (n,)
        `stratum` ascending.

    Returns
    -------
    float array, shape (n,), between 0 and 1
        Van Elteren's weighting: a stratum weighs with 1 / (its size + 1).

    Source
    ------
    van Elteren, Bulletin of the International Statistical Institute 37 (1960) 351-361; from memory.
    """
    ranked = np.empty(len(values))
    for one in range(int(stratum[-1]) + 1 if len(stratum) else 0):
        block = stratum == one
        ranked[block] = ranks(values[block]) / (block.sum() + 1)
    return ranked


def ranks(values: Floats) -> Floats:
    """Return the ranks from 1, along the last axis, ties sharing their mean rank; shape as given."""
    above = (values[..., :, None] > values[..., None, :]).sum(-1)
    level = (values[..., :, None] == values[..., None, :]).sum(-1)
    ranked: Floats = above + (level + 1) / 2
    return ranked
