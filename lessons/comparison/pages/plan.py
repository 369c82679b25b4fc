"""A planned comparison as it stands: its places, what is to be done, what was not kept to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Prefetch
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lessons.comparison.forms.plan import outcome_choices
from lessons.comparison.inference.enough import SIMULATED, Shares, power
from lessons.comparison.models import Allotment, PlannedComparison, blanks_by_student
from lessons.comparison.pages.kept import Place, State, place
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed, ReedEvent
from studio.access import StudioQuerySet
from studio.models import Member

# what a teacher is told the size of a plan by: so many more of 100 come to play one way
TOLD_BY = 0.4


@dataclass(frozen=True)
class OfStudent:
    """One student's part of a plan."""

    student: Member
    places: list[Place]
    blanks: list[Reed]
    next_way: str

    @property
    def taken(self) -> list[Place]:
        return [one for one in self.places if one.state is not State.EMPTY]

    @property
    def empty(self) -> int:
        return sum(one.state is State.EMPTY for one in self.places)


class PlanPage:
    """What its page shows of a plan; a student sees their own places alone."""

    def __init__(self, plan: PlannedComparison, asking: Member) -> None:
        self.plan, self.asking = plan, asking

    @property
    def outcome(self) -> str:
        """What is looked at in the end, in words."""
        return dict(outcome_choices()).get(self.plan.outcome, self.plan.outcome)

    @cached_property
    def places(self) -> list[Place]:
        rows = with_reeds(Allotment.objects.visible_to(self.asking), self.asking).filter(plan=self.plan)
        return [place(row) for row in rows]

    @cached_property
    def students(self) -> list[OfStudent]:
        """Each student's places in order, and the blanks that could take the next one."""
        rows = self.plan.students.select_related("person") if self.asking.teaches else [self.asking]
        blanks = blanks_by_student(self.plan, rows) if self.plan.is_running else {}
        return [self._of(student, blanks.get(student.pk, [])) for student in rows]

    def _of(self, student: Member, blanks: list[Reed]) -> OfStudent:
        places = [one for one in self.places if one.row.student_id == student.pk]
        empty = [one for one in places if one.state is State.EMPTY]
        # what must be known before a blank is made is told; else nobody could choose the blank by it
        ahead = empty[0].row.way if empty and self.plan.is_ahead and self.plan.is_running else ""
        return OfStudent(student, places, blanks if empty else [], ahead)

    @property
    def not_kept(self) -> list[Place]:
        return [one for one in self.places if one.state is State.NOT_KEPT]

    @property
    def sentences(self) -> list[str]:
        """How the plan stands."""
        return [self._taken(), *self._left(), *self._out(), *self._size()]

    def _taken(self) -> str:
        empty = sum(one.state is State.EMPTY for one in self.places)
        words = ngettext(
            "%(taken)d of %(n)d place is taken by a blank.",
            "%(taken)d of %(n)d places are taken by a blank.",
            len(self.places),
        )
        return words % {"taken": len(self.places) - empty, "n": len(self.places)}

    def _left(self) -> Iterable[str]:
        """A student who left keeps the reeds that were made; the other places stay empty."""
        for one in self.students:
            if one.student.left_at is not None:
                words = ngettext(
                    "%(student)s has left the studio: %(n)d place stays empty, the reeds made count.",
                    "%(student)s has left the studio: %(n)d places stay empty, the reeds made count.",
                    one.empty,
                )
                yield words % {"student": one.student, "n": one.empty}

    def _out(self) -> Iterable[str]:
        out = sum(one.state is State.OUT for one in self.places)
        if out:
            words = ngettext(
                "%d reed was taken out and counts no more; its place is not drawn again.",
                "%d reeds were taken out and count no more; their places are not drawn again.",
                out,
            )
            yield words % out

    def _size(self) -> Iterable[str]:
        """To the teacher: what a plan of this size would show."""
        if self.asking.teaches and self.plan.is_running and self.places:
            size = 2 * (self.plan.blanks_each // 2)
            shown = power(Shares(0.5, TOLD_BY), len(self.students), size)
            words = _(
                "If %(more)d of 100 more came out well the one way, a comparison of this size would show it "
                "%(often)d times in ten (simulated %(n)d times)."
            )
            yield words % {"more": 100 * TOLD_BY, "often": int(10 * shown), "n": SIMULATED}


def with_reeds(rows: StudioQuerySet[Allotment], asking: Member) -> StudioQuerySet[Allotment]:
    """Add what `place` reads: of each reed its standing steps, oldest first, and its lengths of scrape."""
    steps = ReedEvent.objects.visible_to(asking).filter(taken_back_at__isnull=True).order_by("at", "pk")
    scrapes = Measurement.objects.visible_to(asking).filter(quantity="scrape_length", value__isnull=False)
    return rows.select_related("plan", "student__person", "reed__cane", "reed__owner").prefetch_related(
        Prefetch[str]("reed__events", steps, to_attr="steps"),
        Prefetch[str]("reed__measurements", scrapes.order_by("at", "pk"), to_attr="scrapes"),
    )
