"""Which findings come back, and which ended: by thirds of the term, the most frequent first."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from lessons.term.lookback.rates import Share, share
from lessons.term.lookback.rows import FoundInTerm

Thirds = tuple[int, int, int]


class SentInTerm(NamedTuple):
    """A reed that was sent in the term: when for the first time."""

    reed: int
    student: int
    at: dt.datetime


@dataclass(frozen=True)
class Recurring:
    """One kind of finding in a term: on how many of the reeds sent, and in which third.

    Attributes
    ----------
    share : Share
        Reeds with it, of the reeds sent.
    thirds, sent : three int
        Reeds with it whose first round fell in each third of the term, and reeds sent in it.
    so_far : float
        Share of all findings that this kind and those before it in the list make up, 0 to 1 (Pareto).
    """

    about: str
    outcome: str
    share: Share
    thirds: Thirds
    sent: Thirds
    so_far: float

    @property
    def by_third(self) -> list[tuple[int, int]]:
        """Reeds with it, of the reeds sent, third by third."""
        return list(zip(self.thirds, self.sent, strict=True))

    @property
    def so_far_percent(self) -> int:
        """The same share in whole percent."""
        return round(100 * self.so_far)

    @property
    def came_back(self) -> bool:
        """Whether it was found in more than one third."""
        return sum(count > 0 for count in self.thirds) > 1

    @property
    def ended(self) -> bool:
        """Whether it was found on two reeds or more and on none of those sent in the last third."""
        return self.share.count > 1 and self.thirds[2] == 0 and self.sent[2] > 0


def third_at(at: dt.datetime, start: dt.datetime, end: dt.datetime) -> int:
    """Return in which third of the term a moment lies, 0 to 2; before it counts as 0, after it as 2."""
    return min(max(int(3 * ((at - start) / (end - start))), 0), 2)


def recurring(
    found: Iterable[FoundInTerm], sent: Sequence[SentInTerm], start: dt.datetime, end: dt.datetime
) -> list[Recurring]:
    """Return each kind of finding, the most frequent first; a reed counts once, in the third it was first
    sent in.

    Parameters
    ----------
    found : iterable of FoundInTerm
        Findings that need attention; those of a reed that is not among `sent` are left out.
    sent : sequence of SentInTerm
        Every reed sent, once each.
    start, end : datetime
        The term, start < end.
    """
    thirds = {row.reed: third_at(row.at, start, end) for row in sent}
    with_it: dict[tuple[str, str], set[int]] = defaultdict(set)
    for row in found:
        if row.reed in thirds:
            with_it[row.about, row.outcome].add(row.reed)
    ordered = sorted(with_it.items(), key=lambda item: (-len(item[1]), item[0]))
    every, all_of = sum(len(reeds) for _kind, reeds in ordered), _counted(thirds.values())
    rows, so_far = [], 0
    for (about, outcome), reeds in ordered:
        so_far += len(reeds)
        counts = _counted(thirds[reed] for reed in reeds)
        rows.append(Recurring(about, outcome, share(len(reeds), len(thirds)), counts, all_of, so_far / every))
    return rows


def _counted(thirds: Iterable[int]) -> Thirds:
    row = list(thirds)
    return row.count(0), row.count(1), row.count(2)
