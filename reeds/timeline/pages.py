"""A reed's life as one row of moments; who lies above adds some by `register_moments`."""

from __future__ import annotations

import datetime as dt
import uuid
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import TypeVar

from django.utils.safestring import SafeString

from reeds.numbers.measured import Measured
from reeds.photo.models.photo import Photo
from reeds.reed.actions import SLIPS
from reeds.reed.facts import RowsOf
from reeds.reed.models.reed import EventKind
from reeds.reed.rows import NotedBy
from reeds.take.models import Take
from reeds.take.pages.sounding import TakeInWords
from reeds.timeline import written
from reeds.timeline.attached import RowsOfLife
from studio.models import Member

TOGETHER = dt.timedelta(minutes=15)
Row = TypeVar("Row", Photo, Take)


@dataclass(frozen=True, kw_only=True)
class Moment:
    """One thing in a reed's life: when, by whom, and what is shown of it."""

    at: dt.datetime
    shown: SafeString
    by: str = ""


Source = Callable[[RowsOfLife, Member], Iterable[Moment]]
_SOURCES: list[Source] = []


def register_moments(source: Source) -> Source:
    """Add a source of moments, so that reeds need not know who tells them; twice is the same as once."""
    if source not in _SOURCES:
        _SOURCES.append(source)
    return source


def timeline_of(rows: RowsOfLife, member: Member) -> SafeString:
    """Write down everything that happened to a reed and that this member may see, newest first."""
    moments = [moment for source in _SOURCES for moment in source(rows, member)]
    newest_first = sorted(moments, key=lambda moment: moment.at)[::-1]
    return written.lines((moment.at, moment.by, moment.shown) for moment in newest_first)


@register_moments
def _events(of: RowsOf, member: Member) -> Iterator[Moment]:
    last_step = next((row for row in reversed(of.events) if row.to_stage), None)
    total = Measured(0.0)
    for row in of.happened:
        if row.clip is not None and row.taken_back_at is None:
            total = total + row.clip
        may = row.taken_back_at is None and (row.by_id == member.pk or member.teaches)
        slips = row.kind in SLIPS or (row is last_step and row.kind != EventKind.MADE)
        take_back = member.to("reeds:take_back", row.pk) if may and slips else ""
        shown = written.happened(row, total if row.clip else None, take_back)
        yield Moment(at=row.at, shown=shown, by=row.by)


@register_moments
def _numbers(of: RowsOf, _member: Member) -> Iterator[Moment]:
    """Numbers entered together are one moment."""

    def together(one: NotedBy) -> tuple[dt.datetime, int | None, str, uuid.UUID | None]:
        return one.row.at, one.row.by_id, one.row.stage, one.log

    known = of.reed.version.sheet.known
    for (at, _by, _stage, log), some in groupby(of.noted, key=together):
        taken = list(some)
        shown = written.numbers([one.row for one in taken], known, log)
        yield Moment(at=at, shown=shown, by=taken[0].by)


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
def _sent(of: RowsOfLife, member: Member) -> Iterator[Moment]:
    """What was photographed and recorded, and what was erased of it: each kind of row is asked for once."""
    yield from _photos((row for row in of.photos if row.taken_back_at is None), member)
    yield from _takes((row for row in of.takes if row.taken_back_at is None), member)
    yield from _erased(of.photos, of.takes)


def _photos(rows: Iterable[Photo], member: Member) -> Iterator[Moment]:
    for some in _together(rows, lambda photo: photo.sent_at):
        yield Moment(at=some[0].sent_at, shown=written.photos(some, member), by=_who(some[0]))


def _takes(rows: Iterable[Take], member: Member) -> Iterator[Moment]:
    for some in _together(rows, lambda take: take.at):
        # what differs from a reference stands on the take's own page
        shown = written.takes([TakeInWords(take) for take in some], member)
        yield Moment(at=some[0].at, shown=shown, by=_who(some[0]))


def _who(row: Photo | Take) -> str:
    return str(row.by) if row.by else ""


def _erased(*kinds: Iterable[Photo | Take]) -> Iterator[Moment]:
    """What was erased together is told as one moment: how much, and that it is gone."""
    photos, takes = (Counter(row.erased_at for row in rows if row.erased_at) for rows in kinds)
    for at in photos.keys() | takes.keys():
        yield Moment(at=at, shown=written.erased(photos[at], takes[at]))


@register_moments
def _playing(of: RowsOf, _member: Member) -> Iterator[Moment]:
    for test in of.tests:
        yield Moment(at=test.at, shown=written.test(test), by=test.by)
