"""What a student's desk says of comparisons: which blank goes which way, and what is still to be made."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils import timezone

from lessons.comparison.models import Allotment, PlannedComparison
from lessons.comparison.pages.kept import Place, State, place
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed, ReedEvent
from studio.access import Seer
from studio.models import Member
from studio.prepared import prepared


@dataclass(frozen=True)
class OnTheDesk:
    """One comparison that runs: the blanks under way, and how many places wait for one."""

    plan: PlannedComparison
    under_way: list[Place]
    empty: int


def on_the_desk(student: Member) -> list[OnTheDesk]:
    """Return the comparisons that a student's blanks take part in now, the oldest first."""
    plans = {plan.pk: plan for plan in _running(student, timezone.localdate())}
    rows = _places(student, tuple(plans)) if plans else []
    for row in rows:
        row.plan, row.student = plans[row.plan_id], student
    _tell(student, [row.reed for row in rows if row.reed])
    places = [place(row) for row in rows]
    return [_of(plan, places) for plan in plans.values()]


def _tell(student: Member, reeds: list[Reed]) -> None:
    """Give each reed what `place` reads of it: its standing steps and its lengths of scrape."""
    pks = tuple(reed.pk for reed in reeds)
    steps, scrapes = _steps(student, pks), _scrapes(student, pks)
    for reed in reeds:
        reed.steps = [one for one in steps if one.reed_id == reed.pk]  # type: ignore[attr-defined]
        reed.scrapes = [one for one in scrapes if one.reed_id == reed.pk]  # type: ignore[attr-defined]


@prepared
def _running(student: Seer, today: dt.date) -> QuerySet[PlannedComparison]:
    rows = PlannedComparison.objects.visible_to(student).running(today).filter(students=student.pk)
    return rows.only("made_at", "differs", "one", "other").order_by("made_at")


@prepared
def _places(student: Seer, plans: tuple[int, ...]) -> QuerySet[Allotment]:
    rows = Allotment.objects.visible_to(student).filter(plan__in=plans, student=student.pk)
    made_of = ("staple_length", "staple", "shape", "cane__label")
    of_reed = [f"reed__{name}" for name in ("number", "stage", "taken_out_at", *made_of)]
    told = rows.select_related("reed__cane").only("plan", "student", "arm", "not_kept_why", *of_reed)
    return told.order_by("plan__made_at", "place")


@prepared
def _steps(student: Seer, reeds: tuple[int, ...]) -> QuerySet[ReedEvent]:
    rows = ReedEvent.objects.visible_to(student).standing().filter(reed__in=reeds)
    return rows.only("reed", "to_stage", "at").order_by("at", "pk")


@prepared
def _scrapes(student: Seer, reeds: tuple[int, ...]) -> QuerySet[Measurement]:
    rows = Measurement.objects.visible_to(student).filter(quantity="scrape_length", value__isnull=False)
    read = rows.filter(reed__in=reeds).select_related(None)
    return read.only("reed", "value", "u").order_by("at", "pk")


def _of(plan: PlannedComparison, places: list[Place]) -> OnTheDesk:
    its = [one for one in places if one.row.plan_id == plan.pk]
    under_way = [one for one in its if one.state is State.UNDER_WAY]
    return OnTheDesk(plan, under_way, sum(one.state is State.EMPTY for one in its))
