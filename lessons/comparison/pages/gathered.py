"""From a term's rows to cases: which reeds may be compared with which."""

from __future__ import annotations

import datetime as dt
import statistics
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _

from lessons.comparison.inference.compared import Cell, Compared, Measure, Verdict, cells, compare
from lessons.comparison.inference.strata import Case
from lessons.comparison.pages.kinds import Factor, Outcome
from lessons.comparison.pages.rows import Rows
from lessons.term.lookback.rows import ReedInTerm
from studio.models import Term

THIRDS = 3
# the smallest differences worth knowing, of shares, of pairs (from a half) and in days: own choice, no source
SHARES_MATTER, PAIRS_MATTER, DAYS_MATTER = 0.25, 0.2, 5.0
MATTERS = {Measure.SHARES: SHARES_MATTER, Measure.PAIRS: PAIRS_MATTER, Measure.SHIFT: DAYS_MATTER}
UP_TO, OVER = "0", "1"


@dataclass(frozen=True)
class Asked:
    """One outcome and one factor over a term's reeds.

    `cases` are what is compared, `made` is how many reeds the term has in all, `among` says which reeds are
    compared with each other.
    """

    outcome: Outcome
    factor: Factor
    cases: list[Case]
    compared: Compared
    made: int
    among: str

    @property
    def matters(self) -> float:
        """The smallest difference worth knowing, in the unit of the effects."""
        return MATTERS[self.compared.measure]

    def verdict(self, p: float) -> Verdict:
        """What may be said, with its p beside the other questions."""
        return self.compared.verdict(p, self.matters)

    @cached_property
    def amounts(self) -> list[float]:
        """The factor's amounts; none where it names groups."""
        return [case.factor for case in self.cases if not isinstance(case.factor, str)]

    @cached_property
    def middle(self) -> float | None:
        """Half of the amounts lie up to here; None where there is none."""
        return statistics.median(self.amounts) if self.amounts else None

    @property
    def cells(self) -> list[Cell]:
        """Every cell; an amount is told as up to the middle of all amounts, or over it."""
        return cells([case._replace(factor=self._group(case)) for case in self.cases])

    def _group(self, case: Case) -> str:
        if isinstance(case.factor, str) or self.middle is None:
            return str(case.factor)
        return UP_TO if case.factor <= self.middle else OVER


def asked(rows: Rows, outcome: Outcome, factor: Factor, lot: str = "") -> Asked:
    """Compare the reeds of which both are known, within student, third of the term and cane lot.

    Lots are not told apart where the lot itself is asked about; `lot` narrows to the cane of that label.
    """
    cases = list(_cases(rows, outcome, factor, lot))
    made = sum(not lot or reed.lot_label == lot for reed in rows.reeds)
    among = _("of one student and one third of the term")
    return Asked(outcome, factor, cases, compare(cases, outcome.measure), made, among)


def _cases(rows: Rows, outcome: Outcome, factor: Factor, lot: str) -> Iterator[Case]:
    for reed in rows.reeds:
        known = reed.reed in outcome.values and reed.reed in factor.values
        if known and (not lot or reed.lot_label == lot):
            cane = 0 if factor.key == "lot" else reed.lot or 0
            stratum = (reed.student, third(reed, rows.term), cane)
            yield Case(stratum, factor.values[reed.reed], outcome.values[reed.reed])


def third(reed: ReedInTerm, term: Term) -> int:
    """Return in which third of the term a reed was made, from 0."""
    days = (term.ends_on - term.starts_on) / dt.timedelta(days=1) + 1
    since = (reed.made_at.date() - term.starts_on) / dt.timedelta(days=1)
    return min(THIRDS - 1, int(THIRDS * since / days))
