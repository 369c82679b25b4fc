"""From a reed's rows to the plain facts that the checks read."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any, NamedTuple, Protocol

from django.db.models import QuerySet
from django.utils import timezone

from reeds.checks.facts import Clip, Reading, ReedFacts
from reeds.checks.newest import newest, others, still_true
from reeds.checks.sheet import Sheet, moved
from reeds.numbers.measured import Measured
from reeds.numbers.words import EFFORT, Flexibility, Method, Moisture, Stage, Style
from reeds.reed.listening import listened_to
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import EventKind, Reed, ReedEvent
from reeds.sheet.models.doubt import OwnDoubt
from reeds.sheet.models.pattern import Offset
from studio.access import Seer
from studio.models import NAMING, Member, called
from studio.prepared import prepared


class Step(Protocol):
    """What an event tells of a reed's way: to which stage it came ('' for none), and when."""

    @property
    def to_stage(self) -> str: ...
    @property
    def at(self) -> dt.datetime: ...


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


Event = Happened | HappenedBy | ReedEvent
Number = Noted | Measurement


def reading_of(row: Number) -> Reading:
    """Return a stored number as the checks read it."""
    return Reading(
        quantity=row.quantity,
        measured=row.measured,
        choice=row.word,
        method=Method(row.method),
        moisture=Moisture(row.moisture),
        when=row.at,
        stage=Stage(row.stage),
        batch=_batch(row),
        computed_from=tuple(row.computed_from.split()),
        by_teacher=row.by_id is not None and row.by_id != row.reed.owner_id,
    )


def _batch(row: Number) -> str:
    """Which photo or take a number came from: numbers of one batch share their error."""
    if row.photo_id:
        return f"photo {row.photo_id}"
    return f"take {row.take_id}" if row.take_id else ""


def clips_of(events: Iterable[Event]) -> tuple[Clip, ...]:
    """Return the clips among a reed's events, oldest first."""
    return tuple(
        Clip(Measured(event.clip_mm, event.clip_u or 0.0), event.at)
        for event in events
        if event.kind == EventKind.CLIP and event.clip_mm is not None
    )


def worked_at(events: Iterable[Event]) -> tuple[dt.datetime | None, dt.datetime | None]:
    """Return when strokes were last taken, and when it was last clipped."""
    rows = list(events)
    strokes = [row.at for row in rows if row.kind == EventKind.SCRAPE]
    clips = [row.at for row in rows if row.kind == EventKind.CLIP]
    return max(strokes, default=None), max(clips, default=None)


def last_cut(events: Iterable[Event]) -> dt.datetime | None:
    """Return when something was scraped or clipped off last."""
    return max(filter(None, worked_at(events)), default=None)


def still_told(rows: Iterable[Number], events: Iterable[Event]) -> list[Reading]:
    """Return numbers as the checks read them, without those that a later cut made a thing of the past."""
    return still_true([reading_of(row) for row in rows], *worked_at(events))


def rested_before_scraping(events: Iterable[Step]) -> dt.timedelta | None:
    """Return how long the blank lay from tying to the first scraping; None if it is not known.

    Binding does not end the rest; where tying was not noted, it counts from binding.
    """
    steps = _steps_to_scraping(events)
    since = _since(steps, Stage.TIED) or _since(steps, Stage.BOUND)
    return steps[-1][0] - since if since and steps[-1][1].is_scraped else None


def bound_before_scraping(events: Iterable[Step]) -> dt.timedelta | None:
    """Return how long it lay from binding to the first scraping; None if it is not known."""
    steps = _steps_to_scraping(events)
    since = _since(steps, Stage.BOUND)
    return steps[-1][0] - since if since and steps[-1][1].is_scraped else None


def _steps_to_scraping(events: Iterable[Step]) -> list[tuple[dt.datetime, Stage]]:
    """The steps noted, oldest first, the first scraping last."""
    steps: list[tuple[dt.datetime, Stage]] = []
    for event in events:
        if event.to_stage:
            steps.append((event.at, Stage(event.to_stage)))
            if steps[-1][1].is_scraped:
                break
    return steps


def _since(steps: Iterable[tuple[dt.datetime, Stage]], stage: Stage) -> dt.datetime | None:
    """When it came to a stage last: a reed tied again rests anew."""
    moments = [at for at, reached in steps if reached is stage]
    return moments[-1] if moments else None


def rest_of(reed: Reed, events: Iterable[Event]) -> dt.timedelta | None:
    """Return the rest from tying on: up to now for a blank, else up to the first scraping."""
    steps = list(events)
    if not reed.is_blank:
        return rested_before_scraping(steps)
    tied = _since(_steps_to_scraping(steps), Stage.TIED)
    return timezone.now() - tied if tied else reed.rested


class BareRows:
    """The rows of one reed as the checks read them, each kind fetched once: for one page, never longer."""

    def __init__(self, reed: Reed) -> None:
        self.reed = reed

    @cached_property
    def happened(self) -> Sequence[Event]:
        """Everything that happened to it, oldest first, slips that were taken back too."""
        return [Happened._make(row) for row in _happened(self.reed.owner, self.reed.pk)]

    @property
    def events(self) -> Sequence[Event]:
        """What holds of it, oldest first."""
        return [row for row in self.happened if row.taken_back_at is None]

    @cached_property
    def numbers(self) -> Sequence[Number]:
        """Every number told of it, oldest first."""
        return [Noted(self.reed, *row) for row in _noted(self.reed.owner, self.reed.pk)]

    @cached_property
    def tests(self) -> list[Tried]:
        """Every playing test with its ratings, oldest first."""
        found: dict[int, Tried] = {}
        for pk, at, effort, log, by, *row in _tried(self.reed.owner, self.reed.pk):
            *named, item, speaks, blows = row
            test = found.setdefault(pk, Tried(pk, at, effort, log, called(by, *named), []))
            if item is not None:
                test.ratings.append(Rated(item, speaks, blows))
        return list(found.values())

    @cached_property
    def offsets(self) -> dict[str, float]:
        """What its player's instrument wants beside the sheet."""
        return Offset.objects.of(self.reed.owner)

    @cached_property
    def doubts(self) -> dict[Method, float]:
        """How sure its studio takes its tools to be."""
        return OwnDoubt.objects.of(self.reed.studio_id)


class RowsOf(BareRows):
    """The same for a page that says whose they are and to which sheet."""

    @cached_property
    def happened(self) -> list[HappenedBy]:
        """Everything that happened to it, oldest first, slips that were taken back too."""
        rows = _happened_by(self.reed.owner, self.reed.pk)
        return [HappenedBy._make((*row[:-3], called(row[7], *row[-3:]))) for row in rows]

    @property
    def events(self) -> list[HappenedBy]:
        """What holds of it, oldest first."""
        return [row for row in self.happened if row.taken_back_at is None]

    @property
    def numbers(self) -> list[Noted]:
        """Every number told of it, oldest first."""
        return [one.row for one in self.noted]

    @cached_property
    def noted(self) -> list[NotedBy]:
        """The same with whose they are."""
        rows = _noted_by(self.reed.owner, self.reed.pk)
        told = len(Noted._fields) - 1
        read = ((Noted(self.reed, *row[:told]), row[told:]) for row in rows)
        return [NotedBy(noted, log, called(noted.by_id, *named)) for noted, (log, *named) in read]


BY = tuple(f"by__{name}" for name in NAMING)


@prepared
def _happened(member: Seer, reed: int) -> QuerySet[ReedEvent, Any]:
    return ReedEvent.objects.filter(studio=member.studio_id, reed=reed).values_list(*Happened._fields)


@prepared
def _happened_by(member: Seer, reed: int) -> QuerySet[ReedEvent, Any]:
    rows = ReedEvent.objects.filter(studio=member.studio_id, reed=reed)
    return rows.values_list(*HappenedBy._fields[:-3], "version__pattern__name", "version__number", *BY)


@prepared
def _noted(member: Seer, reed: int) -> QuerySet[Measurement, Any]:
    rows = Measurement.objects.filter(studio=member.studio_id, reed=reed).order_by("at", "pk")
    return rows.values_list(*Noted._fields[1:])


@prepared
def _noted_by(member: Seer, reed: int) -> QuerySet[Measurement, Any]:
    rows = Measurement.objects.filter(studio=member.studio_id, reed=reed).order_by("at", "pk")
    return rows.values_list(*Noted._fields[1:], "log", *BY)


@prepared
def _tried(member: Seer, reed: int) -> QuerySet[PlayingTest, Any]:
    rows = PlayingTest.objects.filter(studio=member.studio_id, reed=reed).order_by("at", "pk", "ratings__pk")
    told = ("pk", "at", "effort", "log", "by", *BY)
    return rows.values_list(*told, *(f"ratings__{name}" for name in Rated._fields))


def facts_of(
    reed: Reed,
    member: Member,
    extra: Iterable[Reading] = (),
    answers: Mapping[str, int] | None = None,
    rows: BareRows | None = None,
) -> ReedFacts:
    """Gather what is known of a reed, with readings typed but not yet kept in `extra`.

    `rows` are its rows where a page has read them already.
    """
    rows = rows or BareRows(reed)
    events, known = rows.events, reed.version.sheet.known
    stored = still_told(rows.numbers, events)
    heard = listened_to(reed, last_cut(events))
    return ReedFacts(
        style=Style(reed.version.pattern.style),
        stage=Stage(reed.stage),
        staple_length=reed.staple_length,
        flexibility=Flexibility(reed.flexibility),
        numbers=newest([*stored, *extra], known),
        others=others([*stored, *extra], known),
        clips=clips_of(events),
        rested=rest_of(reed, events),
        bound_for=bound_before_scraping(events),
        answers=answers or {},
        takes=heard.own,
        reference_takes=heard.reference,
        doubts=rows.doubts,
        may_act=member.may_act or member.teaches,  # nobody waits for oneself
    )


def sheet_of(reed: Reed, rows: BareRows | None = None) -> Sheet:
    """Return the reed's measuring sheet, moved by what its player's instrument wants."""
    return moved(reed.version.sheet, (rows or BareRows(reed)).offsets)


def answers_of(reed: Reed, rows: BareRows | None = None) -> dict[str, int]:
    """Return how the reed played since its last cut, when last tried: each item's rating, and the effort."""
    rows = rows or BareRows(reed)
    since = last_cut(rows.events)
    tests = [test for test in rows.tests if since is None or test.at >= since]
    return _answers(tests[-1].ratings, tests[-1].effort) if tests else {}


def answers_in(test: PlayingTest | None) -> dict[str, int]:
    """Return what a playing test said: each item's rating, and the effort; nothing for none."""
    return {} if test is None else _answers(test.ratings.all(), test.effort)


def _answers(ratings: Iterable[Rated | Rating], effort: int | None) -> dict[str, int]:
    rated = {rating.item: rating.speaks for rating in ratings if rating.speaks is not None}
    return rated if effort is None else {**rated, EFFORT: effort}
