"""From the reeds of a studio that have an outcome to the chance of one that has none yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from lessons.foretelling.chances.columns import Column, Floats, columns_for, table
from lessons.foretelling.chances.judged import Judged, Learnt, judge, learn
from lessons.foretelling.chances.logistic import mean_chance, odds_to_chance
from lessons.foretelling.chances.rows import Blank
from reeds.numbers.late import np

LEAST_OUTCOMES = 40
Z95 = 1.959964


class Verdict(Enum):
    """What may be said at all."""

    TOO_FEW = "too few outcomes"
    UNSEEN = "too few students to try it on one it has not seen"
    NO_BETTER = "no better than the share itself"
    BETTER = "better"


@dataclass(frozen=True)
class Pull:
    """What moves one blank's chance away from that of the average blank, in log odds; up if positive."""

    about: str
    log_odds: float


@dataclass(frozen=True)
class Chance:
    """The chance of one blank with its 95 % interval, what pulls at it and what is not known of it."""

    blank: Blank
    value: float
    low: float
    high: float
    pulls: tuple[Pull, ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True)
class Foretelling:
    """What a studio's reeds teach of those that have no outcome yet.

    Attributes
    ----------
    n, played : int
        Outcomes, and how many of them came to play.
    judged : Judged or None
        How it fares with students it has not seen; None where that cannot be tried.
    abouts : tuple of str
        What it looks at; empty unless it is better than the share itself.
    chances : tuple of Chance
        In the order given; empty unless it is better than the share itself.
    """

    verdict: Verdict
    n: int
    played: int
    judged: Judged | None = None
    abouts: tuple[str, ...] = ()
    chances: tuple[Chance, ...] = ()


def foretelling(known: Sequence[Blank], coming: Sequence[Blank], tried: bool = False) -> Foretelling:
    """Return what the reeds of a studio foretell of those without an outcome.

    Parameters
    ----------
    known : sequence of Blank
        Reeds that came to play or were given up scraped, each as it was known at the moment looked at.
    coming : sequence of Blank
        Those to foretell, as they are known now.
    tried : bool
        Whether the moment is the first playing test; else it is before scraping.

    Raises
    ------
    ValueError
        If a reed of `known` has no outcome.
    """
    if any(blank.plays is None for blank in known):
        raise ValueError("Only a reed with an outcome teaches.")
    n, played = len(known), sum(bool(blank.plays) for blank in known)
    if n < LEAST_OUTCOMES:
        return Foretelling(Verdict.TOO_FEW, n, played)
    columns = columns_for(known, tried)
    taught = table(known, columns)
    learnt = learn(taught)
    judged = judge(taught, learnt)
    if judged is None or not judged.is_better:
        return Foretelling(Verdict.NO_BETTER if judged else Verdict.UNSEEN, n, played, judged)
    read = Read(columns, learnt)
    return Foretelling(Verdict.BETTER, n, played, judged, read.abouts, read.chances(coming))


@dataclass(frozen=True)
class Read:
    """What was learnt, with what its columns are about."""

    columns: tuple[Column, ...]
    learnt: Learnt

    @property
    def _used(self) -> list[Column]:
        return [self.columns[place] for place in self.learnt.scale.used.tolist()]

    @property
    def abouts(self) -> tuple[str, ...]:
        """Each thing it looks at, once."""
        return tuple(dict.fromkeys(column.about for column in self._used))

    def chances(self, coming: Sequence[Blank]) -> tuple[Chance, ...]:
        """Return the chance of each."""
        if not coming:
            return ()
        rows = table(coming, self.columns)
        odds, variance = self.learnt.foretell(rows)
        half = Z95 * np.sqrt(variance)
        told = np.array(
            [mean_chance(odds, variance), odds_to_chance(odds - half), odds_to_chance(odds + half)]
        )
        standard = self.learnt.scale.standard(rows)[0]
        return tuple(
            Chance(blank, value, low, high, self._pulls(x), self._unknown(blank))
            for blank, (value, low, high), x in zip(coming, told.T.tolist(), standard, strict=True)
        )

    def _pulls(self, x: Floats) -> tuple[Pull, ...]:
        """What moves it by more than the doubt of the moving, the strongest first."""
        spread = self.learnt.fitted.covariance[1 : 1 + len(x), 1 : 1 + len(x)]
        found = []
        for about in self.abouts:
            moved = x * np.array([column.about == about for column in self._used])
            by = float(moved @ self.learnt.fitted.columns)
            if abs(by) > Z95 * float(np.sqrt(moved @ spread @ moved)):
                found.append(Pull(about, by))
        return tuple(sorted(found, key=lambda pull: -abs(pull.log_odds)))

    def _unknown(self, blank: Blank) -> tuple[str, ...]:
        return tuple(dict.fromkeys(column.about for column in self._used if column.of(blank) is None))
