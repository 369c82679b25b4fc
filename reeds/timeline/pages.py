"""A reed's life as one row of moments; who lies above adds some by `register_moments`."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import TypeVar

from reeds.numbers.measured import Measured
from reeds.photo.models.photo import Photo
from reeds.reed.actions import SLIPS
from reeds.reed.facts import RowsOf
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import EventKind, ReedEvent
from reeds.take.models import Take
from reeds.take.pages.sounding import ShownTake
from reeds.timeline.attached import photographed_of, recorded_of
from studio.models import Member

TOGETHER = dt.timedelta(minutes=15)
Row = TypeVar("Row", Photo, Take)


@dataclass(frozen=True, kw_only=True)
class Moment:
    """One thing in a reed's life: when, by whom, and the small template that shows `what`."""

    at: dt.datetime
    template: str
    what: object
    by: Member | None = None


Source = Callable[[RowsOf, Member], Iterable[Moment]]
_SOURCES: list[Source] = []


def register_moments(source: Source) -> Source:
    """Add a source of moments, so that reeds need not know who tells them; twice is the same as once."""
    if source not in _SOURCES:
        _SOURCES.append(source)
    return source


def timeline_of(rows: RowsOf, member: Member) -> list[Moment]:
    """Return everything that happened to a reed and that this member may see, newest first."""
    moments = [moment for source in _SOURCES for moment in source(rows, member)]
    return sorted(moments, key=lambda moment: moment.at)[::-1]


@dataclass(frozen=True)
class EventShown:
    """An event with what its line says beside it: the sum of clips up to it, whether it can be taken back."""

    row: ReedEvent
    clipped: Measured | None = None
    can_be_taken_back: bool = False


@register_moments
def _events(of: RowsOf, member: Member) -> Iterator[Moment]:
    last_step = next((row for row in reversed(of.events) if row.to_stage), None)
    total = Measured(0.0)
    for row in of.happened:
        if row.clip is not None and row.taken_back_at is None:
            total = total + row.clip
        may = row.taken_back_at is None and (row.by_id == member.pk or member.teaches)
        slips = row.kind in SLIPS or (row == last_step and row.kind != EventKind.MADE)
        shown = EventShown(row, total if row.clip else None, may and slips)
        yield Moment(at=row.at, template="reeds/timeline/moments/event.html", what=shown, by=row.by)


@register_moments
def _numbers(of: RowsOf, member: Member) -> Iterator[Moment]:
    """Numbers entered together are one moment."""

    def together(row: Measurement) -> tuple[dt.datetime, int | None, str, object]:
        return row.at, row.by_id, row.stage, row.log

    for (at, *_rest), some in groupby(of.numbers, key=together):
        taken = list(some)
        yield Moment(at=at, template="reeds/timeline/moments/numbers.html", what=taken, by=taken[0].by)


def _together(rows: Iterable[Row], when: Callable[[Row], dt.datetime]) -> Iterator[list[Row]]:
    """Yield rows, ordered by when, in the lots that one person sent within a quarter of an hour."""
    some: list[Row] = []
    for row in rows:
        if some and (row.by_id != some[0].by_id or when(row) - when(some[0]) > TOGETHER):
            yield some
            some = []
        some.append(row)
    if some:
        yield some


@register_moments
def _sent(of: RowsOf, member: Member) -> Iterator[Moment]:
    """What was photographed and recorded, and what was erased of it: each kind of row is asked for once."""
    photographed, recorded = photographed_of(member, of.reed.pk), recorded_of(member, of.reed.pk)
    for photo in photographed:
        photo.reed = of.reed
    for take in recorded:
        take.reed = of.reed
    yield from _photos(row for row in photographed if row.taken_back_at is None)
    yield from _takes(row for row in recorded if row.taken_back_at is None)
    yield from _erased(photographed, recorded)


def _photos(rows: Iterable[Photo]) -> Iterator[Moment]:
    for some in _together(rows, lambda photo: photo.sent_at):
        yield Moment(
            at=some[0].sent_at, template="reeds/timeline/moments/photos.html", what=some, by=some[0].by
        )


def _takes(rows: Iterable[Take]) -> Iterator[Moment]:
    for some in _together(rows, lambda take: take.at):
        # what differs from a reference stands on the take's own page
        shown = [ShownTake(take) for take in some]
        yield Moment(at=some[0].at, template="reeds/timeline/moments/takes.html", what=shown, by=some[0].by)


def _erased(*kinds: Iterable[Photo | Take]) -> Iterator[Moment]:
    """What was erased together is told as one moment: how much, and that it is gone."""
    photos, takes = (Counter(row.erased_at for row in rows if row.erased_at) for rows in kinds)
    for at in photos.keys() | takes.keys():
        what = {"photos": photos[at], "takes": takes[at]}
        yield Moment(at=at, template="reeds/timeline/moments/erased.html", what=what)


@register_moments
def _playing(of: RowsOf, member: Member) -> Iterator[Moment]:
    for test in of.tests:
        yield Moment(at=test.at, template="reeds/timeline/moments/playing.html", what=test, by=test.by)
