"""What came of a planned comparison: as drawn first, then of those that kept to it alone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lessons.comparison.inference.compared import compare
from lessons.comparison.inference.lots import BLOCK
from lessons.comparison.inference.strata import Case
from lessons.comparison.models import PlannedComparison
from lessons.comparison.pages.gathered import Asked
from lessons.comparison.pages.kept import Place, State
from lessons.comparison.pages.kinds import Factor, Outcome
from lessons.comparison.pages.outcomes import outcomes
from lessons.comparison.pages.picture import Picture, picture
from lessons.comparison.pages.plan import PlanPage
from lessons.comparison.pages.saying import CAUSES, Said, effect_words, said
from lessons.comparison.pages.table import CellRow, cell_table
from lessons.term.rows import TermRows
from studio.models import Term


@dataclass(frozen=True)
class Report:
    """What the teacher reads when a comparison is over.

    drawn, kept     the reeds as drawn by lot, and of them those that went the way drawn for them
    """

    drawn: Asked
    kept: Asked
    missing: int
    not_kept: list[Place]
    names: dict[int, str]

    @cached_property
    def said(self) -> Said:
        return said(self.drawn, self.drawn.compared.p, 1, CAUSES)

    @property
    def lead(self) -> str:
        return self.said.lead

    @property
    def effects(self) -> list[str]:
        return self.said.effects

    @property
    def besides(self) -> list[str]:
        """How sure it is, and how many reeds are left aside."""
        if not self.missing:
            return self.said.besides
        words = ngettext(
            "%d reed has not come out yet and is left aside.",
            "%d reeds have not come out yet and are left aside.",
            self.missing,
        )
        return [*self.said.besides, words % self.missing]

    @property
    def picture(self) -> Picture | None:
        return picture(self.drawn)

    @property
    def as_kept(self) -> list[str]:
        """The same figure of those that kept to it: weaker, since it was not drawn who would."""
        if not self.not_kept:
            return [_("Every reed went the way that was drawn for it.")]
        if self.kept.compared.is_too_few:
            return [_("Of the reeds that kept to it there are too few for a figure of their own.")]
        return [effect_words(self.kept, one) for one in self.kept.compared.contrasts]

    @property
    def heads(self) -> list[str]:
        return cell_table(self.drawn, self.names, {})[0]

    @property
    def rows(self) -> list[CellRow]:
        return cell_table(self.drawn, self.names, {})[1]


def report(page: PlanPage) -> Report | None:
    """Return what came of a comparison that is over, for its teacher; None before, and for a student.

    Who looks every week stops when it looks well: the figures are told when the day has come.
    """
    plan = page.plan
    if not (page.asking.teaches and plan.is_over and plan.taken_back_at is None):
        return None
    outcome = _outcome(plan, page)
    taken = [one for one in page.places if one.reed is not None]
    kept = [one for one in taken if one.state is not State.NOT_KEPT]
    drawn = _compared(plan, outcome, taken)
    names = {one.row.student_id: str(one.row.student) for one in page.places}
    return Report(drawn, _compared(plan, outcome, kept), len(taken) - len(drawn.cases), page.not_kept, names)


def _outcome(plan: PlannedComparison, page: PlanPage) -> Outcome:
    """Return the outcome that was planned, with what is known of the plan's reeds by its last day."""
    rows = TermRows(_span(plan, page.places), page.asking)
    nothing = Outcome(plan.outcome, page.outcome, page.outcome, page.outcome, {})
    return outcomes(rows).get(plan.outcome, nothing)


def _span(plan: PlannedComparison, places: Iterable[Place]) -> Term:
    """Return the days of the comparison as if they were a term; a blank may be older than its plan."""
    zone = plan.studio.zone
    times = [plan.made_at, *(one.reed.made_at for one in places if one.reed)]
    ends_on = timezone.localdate(plan.stopped_at, zone) if plan.stopped_at else plan.until
    return Term(studio=plan.studio, starts_on=min(times).astimezone(zone).date(), ends_on=ends_on)


def _compared(plan: PlannedComparison, outcome: Outcome, places: Iterable[Place]) -> Asked:
    """Compare within the blocks in which lots were drawn: student, then every four places."""
    reeds = [(one.row, one.reed.pk) for one in places if one.reed]
    ways = {reed: plan.way(row.arm) for row, reed in reeds}
    cases = [
        Case((row.student_id, (row.place - 1) // BLOCK, 0), ways[reed], outcome.values[reed])
        for row, reed in reeds
        if reed in outcome.values
    ]
    compared = compare(cases, outcome.measure, first=[plan.way(0), plan.way(1)])
    factor = Factor(plan.differs, plan.get_differs_display(), ways)
    return Asked(outcome, factor, cases, compared, len(ways), _("of one student, drawn together"))
