"""From a reed's rows to the plain facts that the checks read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property

from django.utils import timezone

from reeds.checks.facts import Clip, Reading, ReedFacts
from reeds.checks.newest import newest, others, still_true
from reeds.checks.sheet import Sheet, moved
from reeds.numbers.measured import Measured
from reeds.numbers.words import EFFORT, Flexibility, Method, Moisture, Stage, Style
from reeds.reed.listening import HeardOf, listened_to
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import EventKind, Reed, ReedEvent
from reeds.reed.resting import bound_before_scraping, rested_before_scraping, since, steps_to_scraping
from reeds.reed.rows import (
    Happened,
    HappenedBy,
    Noted,
    NotedBy,
    Rated,
    Tried,
    all_happened,
    all_happened_by,
    all_noted,
    all_noted_by,
    all_tried,
)
from reeds.sheet.models.ours import Ours, ours_of
from studio.models import Member, called

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


def rest_of(reed: Reed, events: Iterable[Event]) -> dt.timedelta | None:
    """Return the rest from tying on: up to now for a blank, else up to the first scraping."""
    steps = list(events)
    if not reed.is_blank:
        return rested_before_scraping(steps)
    tied = since(steps_to_scraping(steps), Stage.TIED)
    return timezone.now() - tied if tied else reed.rested


class BareRows:
    """The rows of one reed as the checks read them, each kind fetched once: for one page, never longer."""

    def __init__(self, reed: Reed) -> None:
        self.reed = reed

    @cached_property
    def happened(self) -> Sequence[Event]:
        """Everything that happened to it, oldest first, slips that were taken back too."""
        return [Happened._make(row) for row in all_happened(self.reed.owner, self.reed.pk)]

    @property
    def events(self) -> Sequence[Event]:
        """What holds of it, oldest first."""
        return [row for row in self.happened if row.taken_back_at is None]

    @cached_property
    def numbers(self) -> Sequence[Number]:
        """Every number told of it, oldest first."""
        return [Noted(self.reed, *row) for row in all_noted(self.reed.owner, self.reed.pk)]

    @cached_property
    def tests(self) -> list[Tried]:
        """Every playing test with its ratings, oldest first."""
        found: dict[int, Tried] = {}
        for pk, at, effort, log, by, *row in all_tried(self.reed.owner, self.reed.pk):
            *named, item, speaks, blows = row
            test = found.setdefault(pk, Tried(pk, at, effort, log, called(by, *named), []))
            if item is not None:
                test.ratings.append(Rated(item, speaks, blows))
        return list(found.values())

    @cached_property
    def _ours(self) -> Ours:
        return ours_of(self.reed.owner)

    @property
    def offsets(self) -> Mapping[str, float]:
        """What its player's instrument wants beside the sheet."""
        return self._ours.offsets

    @property
    def doubts(self) -> Mapping[Method, float]:
        """How sure its studio takes its tools to be."""
        return self._ours.doubts

    @property
    def sheet(self) -> Sheet:
        """Its measuring sheet, with what its studio knows: the version's, read once."""
        version = self.reed.version
        if "sheet" not in vars(version):
            version.sheet = version.sheet_in(self._ours.known)
        return version.sheet

    @property
    def heard(self) -> HeardOf:
        """What recordings told of it since something was taken off last."""
        return listened_to(self.reed, last_cut(self.events))


class RowsOf(BareRows):
    """The same for a page that says whose they are and to which sheet."""

    @cached_property
    def happened(self) -> list[HappenedBy]:
        """Everything that happened to it, oldest first, slips that were taken back too."""
        rows = all_happened_by(self.reed.owner, self.reed.pk)
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
        rows = all_noted_by(self.reed.owner, self.reed.pk)
        told = len(Noted._fields) - 1
        read = ((Noted(self.reed, *row[:told]), row[told:]) for row in rows)
        return [NotedBy(noted, log, called(noted.by_id, *named)) for noted, (log, *named) in read]


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
    events, known = rows.events, rows.sheet.known
    stored = still_told(rows.numbers, events)
    heard = rows.heard
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
    rows = rows or BareRows(reed)
    return moved(rows.sheet, rows.offsets)


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
