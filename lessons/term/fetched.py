"""What the database has of one term, for the member who asks: each kind of row by one query.

Model reeds and reeds taken out are nowhere among it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.db.models import Count, Q, QuerySet, TextField
from django.db.models.functions import Cast

from lessons.lesson.models import SetWork
from lessons.sending.models import Submission
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import Rating
from reeds.reed.models.reed import EventKind, Reed, ReedEvent
from studio.access import Seer, StudioQuerySet
from studio.models import Member, Term
from studio.prepared import prepared

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
    "method",
    "stage",
    "by_id",
    "reed__version_id",
    "reed__staple_length",
    "reed__flexibility",
)
OF_A_WORD = (
    "quantity",
    "reed_id",
    "reed__number",
    "reed__owner_id",
    "at",
    "word",
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
    "findings_text",
)
OF_WORK = (
    "student_id",
    "set_at",
    "due_on",
    "done_at",
)

Raw = Iterable[tuple[Any, ...]]
Rows = QuerySet[Any, tuple[Any, ...]]
# its first moment, the first after it, and of one student alone or of all
Of = tuple[dt.datetime, dt.datetime, int | None]


@dataclass(frozen=True)
class Fetched:
    """The studio's rows, or one student's; asked for twice, they are fetched twice."""

    term: Term
    asking: Member
    student: Member | None = None

    @cached_property
    def _of(self) -> Of:
        """Of what time, and of whom."""
        return *self.term.span, self.student.pk if self.student else None

    def made(self) -> int:
        """How many reeds were made in the term."""
        return sum(n for (n,) in _counted(self.asking, *self._of))

    def reeds(self) -> Raw:
        """The reeds made in the term, the first made first."""
        return _reeds(self.asking, *self._of)

    def steps(self) -> Raw:
        """What became of each of them, oldest first."""
        return _steps(self.asking, *self._of)

    def played(self) -> Raw:
        """When somebody noted that one of them was played, and no more."""
        return _played(self.asking, *self._of)

    def numbers(self) -> Raw:
        """What was measured, oldest first."""
        return _numbers(self.asking, *self._of)

    def words(self) -> Raw:
        """What was noted in a word, oldest first."""
        return _words(self.asking, *self._of)

    def ratings(self) -> Raw:
        """The playing tests, item by item, oldest first."""
        return _ratings(self.asking, *self._of)

    def rounds(self) -> Raw:
        """The rounds sent, oldest first, their findings as JSON."""
        return _rounds(self.asking, *self._of)

    def work(self) -> Raw:
        """What was set in the term, or was due in it."""
        return _work(self.asking, self.term.starts_on, self.term.ends_on, *self._of)


def _made(asking: Seer, *of: *Of) -> StudioQuerySet[Reed]:
    start, end, student = of
    rows = Reed.objects.visible_to(asking).filter(is_model=False)
    rows = rows.filter(made_at__gte=start, made_at__lt=end)
    return rows.filter(owner=student) if student else rows


@prepared
def _counted(asking: Seer, *of: *Of) -> Rows:
    return _made(asking, *of).order_by().values("studio").annotate(n=Count("pk")).values_list("n")


@prepared
def _reeds(asking: Seer, *of: *Of) -> Rows:
    return _made(asking, *of).order_by("made_at", "pk").values_list(*OF_A_REED)


@prepared
def _steps(asking: Seer, *of: *Of) -> Rows:
    return _events(asking, of).exclude(to_stage="").order_by("at", "pk").values_list(*OF_AN_EVENT)


@prepared
def _played(asking: Seer, *of: *Of) -> Rows:
    rows = _events(asking, of).filter(kind=EventKind.PLAYED, to_stage="")
    return rows.order_by().values_list(*OF_AN_EVENT)


def _events(asking: Seer, of: Of) -> StudioQuerySet[ReedEvent]:
    return ReedEvent.objects.standing().filter(reed__in=_made(asking, *of))


@prepared
def _numbers(asking: Seer, *of: *Of) -> Rows:
    rows = _hanging(Measurement, "reed__", "at", asking, of).filter(value__isnull=False)
    return rows.order_by("at", "pk").values_list(*OF_A_NUMBER)


@prepared
def _words(asking: Seer, *of: *Of) -> Rows:
    rows = _hanging(Measurement, "reed__", "at", asking, of).filter(value__isnull=True)
    return rows.order_by("at", "pk").values_list(*OF_A_WORD)


@prepared
def _ratings(asking: Seer, *of: *Of) -> Rows:
    rows = _hanging(Rating, "test__reed__", "test__at", asking, of)
    return rows.order_by("test__at", "pk").values_list(*OF_A_RATING)


@prepared
def _rounds(asking: Seer, *of: *Of) -> Rows:
    rows = _hanging(Submission, "reed__", "sent_at", asking, of)
    rows = rows.annotate(findings_text=Cast("findings", TextField()))
    return rows.order_by("sent_at", "pk").values_list(*OF_A_ROUND)


@prepared
def _work(asking: Seer, first: dt.date, last: dt.date, *of: *Of) -> Rows:
    start, end, student = of
    due = Q(due_on__gte=first, due_on__lte=last)
    rows = SetWork.objects.visible_to(asking).filter(due | Q(set_at__gte=start, set_at__lt=end))
    rows = rows.filter(student=student) if student else rows
    return rows.order_by("set_at", "pk").values_list(*OF_WORK)


def _hanging(model: type[Any], to_reed: str, at: str, asking: Seer, of: Of) -> StudioQuerySet[Any]:
    """What hangs on a reed and happened in the term."""
    start, end, student = of
    rows: StudioQuerySet[Any] = model.objects.visible_to(asking)
    rows = rows.filter(**{f"{at}__gte": start, f"{at}__lt": end})
    rows = rows.filter(**{f"{to_reed}taken_out_at__isnull": True, f"{to_reed}is_model": False})
    return rows.filter(**{f"{to_reed}owner": student}) if student else rows
