"""What the database has of one term, for the member who asks: each kind of row by one query.

Model reeds and reeds taken out are nowhere among it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.db.models import Q

from lessons.lesson.models import SetWork
from lessons.sending.models import Submission
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import Rating
from reeds.reed.models.reed import EventKind, Reed, ReedEvent
from studio.access import StudioQuerySet
from studio.models import Member, Term

OF_A_REED = (
    "pk",
    "number",
    "owner_id",
    "made_at",
    "stage",
    "cane_id",
    "cane__label",
    "staple",
    "staple_length",
    "shape",
    "flexibility",
    "version_id",
)
OF_AN_EVENT = ("reed_id", "kind", "to_stage", "at")
OF_A_NUMBER = (
    "quantity",
    "reed_id",
    "reed__number",
    "reed__owner_id",
    "at",
    "value",
    "u",
    "word",
    "method",
    "stage",
    "by_id",
    "reed__version_id",
    "reed__staple_length",
    "reed__flexibility",
)
OF_A_RATING = (
    "test__reed_id",
    "test__reed__number",
    "test__reed__owner_id",
    "test__at",
    "test__by_id",
    "item",
    "speaks",
    "effort",
)
OF_A_ROUND = (
    "reed_id",
    "reed__number",
    "student_id",
    "sent_at",
    "answered_at",
    "findings",
)
OF_WORK = (
    "student_id",
    "set_at",
    "due_on",
    "done_at",
)

Raw = Iterator[tuple[Any, ...]]


@dataclass(frozen=True)
class Fetched:
    """The studio's rows, or one student's; asked for twice, they are fetched twice."""

    term: Term
    asking: Member
    student: Member | None = None

    @cached_property
    def span(self) -> tuple[dt.datetime, dt.datetime]:
        """First moment and first moment after the term."""
        return self.term.span

    def made(self) -> int:
        """How many reeds were made in the term."""
        return self._made().count()

    def reeds(self) -> Raw:
        """The reeds made in the term, the first made first."""
        return self._made().order_by("made_at", "pk").values_list(*OF_A_REED).iterator()

    def events(self) -> Raw:
        """What happened to each of them, oldest first: its steps, and when it was played."""
        rows = ReedEvent.objects.standing().filter(reed__in=self._made())
        rows = rows.filter(Q(kind=EventKind.PLAYED) | ~Q(to_stage=""))
        return rows.order_by("at", "pk").values_list(*OF_AN_EVENT).iterator()

    def measured(self) -> Raw:
        """Numbers and words, oldest first."""
        return self._of(Measurement, "reed__", "at").order_by("at", "pk").values_list(*OF_A_NUMBER).iterator()

    def ratings(self) -> Raw:
        """The playing tests, item by item, oldest first."""
        rows = self._of(Rating, "test__reed__", "test__at").order_by("test__at", "pk")
        return rows.values_list(*OF_A_RATING).iterator()

    def rounds(self) -> Raw:
        """The rounds sent, oldest first."""
        rows = self._of(Submission, "reed__", "sent_at").order_by("sent_at", "pk")
        return rows.values_list(*OF_A_ROUND).iterator()

    def work(self) -> Raw:
        """What was set in the term, or was due in it."""
        start, end = self.span
        due = Q(due_on__gte=self.term.starts_on, due_on__lte=self.term.ends_on)
        rows = SetWork.objects.visible_to(self.asking).filter(due | Q(set_at__gte=start, set_at__lt=end))
        rows = rows.filter(student=self.student) if self.student else rows
        return rows.order_by("set_at", "pk").values_list(*OF_WORK).iterator()

    def _made(self) -> StudioQuerySet[Reed]:
        start, end = self.span
        rows = Reed.objects.visible_to(self.asking).filter(is_model=False)
        rows = rows.filter(made_at__gte=start, made_at__lt=end)
        return rows.filter(owner=self.student) if self.student else rows

    def _of(self, model: type[Any], to_reed: str, at: str) -> StudioQuerySet[Any]:
        """What hangs on a reed and happened in the term."""
        start, end = self.span
        rows: StudioQuerySet[Any] = model.objects.visible_to(self.asking)
        rows = rows.filter(**{f"{at}__gte": start, f"{at}__lt": end})
        rows = rows.filter(**{f"{to_reed}taken_out_at__isnull": True, f"{to_reed}is_model": False})
        return rows.filter(**{f"{to_reed}owner": self.student}) if self.student else rows
