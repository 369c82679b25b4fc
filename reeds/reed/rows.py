"""The rows of one reed as they are read: for the checks, and for a page that says by whom they are."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any, NamedTuple

from django.db.models import QuerySet

from reeds.numbers.measured import Measured
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest
from reeds.reed.models.reed import Reed, ReedEvent
from studio.access import Seer
from studio.models import NAMING
from studio.prepared import prepared


class Happened(NamedTuple):
    """What the checks read of an event."""

    kind: str
    at: dt.datetime
    to_stage: str
    clip_mm: float | None
    clip_u: float | None
    taken_back_at: dt.datetime | None


class Noted(NamedTuple):
    """What the checks read of a stored number."""

    reed: Reed
    pk: int
    quantity: str
    value: float | None
    u: float | None
    word: str
    method: str
    moisture: str
    at: dt.datetime
    stage: str
    photo_id: int | None
    take_id: int | None
    computed_from: str
    by_id: int | None
    entered_at: dt.datetime

    @property
    def measured(self) -> Measured | None:
        """Value and doubt; None for a word."""
        return None if self.value is None or self.u is None else Measured(self.value, self.u)


class HappenedBy(NamedTuple):
    """What a page says of an event beside that: where from, on what, by whom and why."""

    kind: str
    at: dt.datetime
    to_stage: str
    clip_mm: float | None
    clip_u: float | None
    taken_back_at: dt.datetime | None
    pk: int
    by_id: int | None
    from_stage: str
    strokes: int | None
    side: str
    blade: str
    zone: str
    feel: str
    why: str
    log: uuid.UUID | None
    sheet: str | None
    version: int | None
    by: str

    @property
    def clip(self) -> Measured | None:
        """How much was clipped, mm; None for anything but a clip."""
        return None if self.clip_mm is None else Measured(self.clip_mm, self.clip_u or 0.0)


class NotedBy(NamedTuple):
    """What a page says of a stored number besides: with which list it came, and by whom."""

    row: Noted
    log: uuid.UUID | None
    by: str


class Rated(NamedTuple):
    """How one item of a playing test was rated."""

    item: str
    speaks: int | None
    effort: int | None


class Tried(NamedTuple):
    """A playing test with its ratings."""

    pk: int
    at: dt.datetime
    effort: int | None
    log: uuid.UUID | None
    by: str
    ratings: list[Rated]


BY = tuple(f"by__{name}" for name in NAMING)


@prepared
def all_happened(member: Seer, reed: int) -> QuerySet[ReedEvent, Any]:
    """Find what the checks read of everything that happened to a reed, oldest first."""
    return ReedEvent.objects.filter(studio=member.studio_id, reed=reed).values_list(*Happened._fields)


@prepared
def all_happened_by(member: Seer, reed: int) -> QuerySet[ReedEvent, Any]:
    """Find everything that happened to it as a page says it; what its `by` is made of comes last."""
    rows = ReedEvent.objects.filter(studio=member.studio_id, reed=reed)
    return rows.values_list(*HappenedBy._fields[:-3], "version__pattern__name", "version__number", *BY)


@prepared
def all_noted(member: Seer, reed: int) -> QuerySet[Measurement, Any]:
    """Find what the checks read of every number told of it, oldest first."""
    rows = Measurement.objects.filter(studio=member.studio_id, reed=reed).order_by("at", "pk")
    return rows.values_list(*Noted._fields[1:])


@prepared
def all_noted_by(member: Seer, reed: int) -> QuerySet[Measurement, Any]:
    """Find the same, and of each with which list it came and what its `by` is made of."""
    rows = Measurement.objects.filter(studio=member.studio_id, reed=reed).order_by("at", "pk")
    return rows.values_list(*Noted._fields[1:], "log", *BY)


@prepared
def all_tried(member: Seer, reed: int) -> QuerySet[PlayingTest, Any]:
    """Find each playing test once for every rating, or once without any, oldest first."""
    rows = PlayingTest.objects.filter(studio=member.studio_id, reed=reed).order_by("at", "pk", "ratings__pk")
    told = ("pk", "at", "effort", "log", "by", *BY)
    return rows.values_list(*told, *(f"ratings__{name}" for name in Rated._fields))
