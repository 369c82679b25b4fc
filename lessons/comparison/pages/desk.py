"""What a student's desk says of comparisons: which blank goes which way, and what is still to be made."""

from __future__ import annotations

from dataclasses import dataclass

from lessons.comparison.models import Allotment, PlannedComparison
from lessons.comparison.pages.kept import Place, State, place
from lessons.comparison.pages.plan import with_reeds
from studio.models import Member


@dataclass(frozen=True)
class OnTheDesk:
    """One comparison that runs: the blanks under way, and how many places wait for one."""

    plan: PlannedComparison
    under_way: list[Place]
    empty: int


def on_the_desk(student: Member) -> list[OnTheDesk]:
    """Return the comparisons that a student's blanks take part in now, the oldest first."""
    running = PlannedComparison.objects.visible_to(student).running().filter(students=student)
    plans = list(running.order_by("made_at"))
    if not plans:
        return []
    rows = Allotment.objects.visible_to(student).filter(plan__in=plans, student=student)
    places = [place(row) for row in with_reeds(rows, student).order_by("plan__made_at", "place")]
    return [_of(plan, places) for plan in plans]


def _of(plan: PlannedComparison, places: list[Place]) -> OnTheDesk:
    its = [one for one in places if one.row.plan_id == plan.pk]
    under_way = [one for one in its if one.state is State.UNDER_WAY]
    return OnTheDesk(plan, under_way, sum(one.state is State.EMPTY for one in its))
