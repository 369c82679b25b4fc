"""What is planned for a reed of the demo as rows that are not saved yet: itself, its events, its numbers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from lessons.demo.histories import Life, Number, at
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import Finding, in_order
from reeds.checks.mending import told
from reeds.checks.newest import newest, others
from reeds.checks.registry import run_checks
from reeds.checks.sheet import Sheet
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Flexibility, Method, Moisture, Stage, Style
from reeds.photo.models.card import PrintedCard
from reeds.reed.facts import clips_of, still_told
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import EventKind, Reed, ReedEvent
from reeds.reed.resting import bound_before_scraping, rested_before_scraping
from reeds.sheet.models.pattern import PatternVersion
from studio.models import Member, Studio


@dataclass(frozen=True)
class DemoStudio:
    """What every reed of a term of the demo needs to know of its studio.

    `before` says how many reeds each student made in the terms before, by user name: numbers go on.
    """

    studio: Studio
    teacher: Member
    version: PatternVersion
    starts: dt.datetime
    card: PrintedCard
    before: dict[str, int] = field(default_factory=dict)


def reed_of(demo: DemoStudio, owner: Member, life: Life, lot: CaneLot | None = None) -> Reed:
    """Return the reed as it stands at the end of what is planned."""
    return Reed(
        studio=demo.studio,
        owner=owner,
        number=demo.before.get(owner.person.username, 0) + life.number,
        version=demo.version,
        cane=lot,
        shape="wide" if life.number % 3 == 0 else "narrow",
        staple="brass tube",
        staple_length=life.staple,
        flexibility=life.flexibility,
        stage=life.stage,
        stage_since=at(demo.starts, life.steps[-1][0]),
        made_at=at(demo.starts, life.made),
    )


def events_of(demo: DemoStudio, reed: Reed, life: Life) -> list[ReedEvent]:
    """Return everything that happened to it."""

    def event(kind: EventKind, day: float, **details: object) -> ReedEvent:
        return ReedEvent(
            studio=demo.studio, reed=reed, by=reed.owner, kind=kind, at=at(demo.starts, day), **details
        )

    events = [event(EventKind.MADE, life.made, to_stage=Stage.CANE, version=demo.version)]
    before = Stage.CANE
    for day, stage, why in life.steps:
        kind = EventKind.GIVEN_UP if stage is Stage.GIVEN_UP else EventKind.STAGE
        events.append(event(kind, day, from_stage=before, to_stage=stage, why=why))
        before = stage
    events += [
        event(EventKind.CLIP, day, clip_mm=amount, clip_u=Method.RULER.u_mm) for day, amount in life.clips
    ]
    events += [
        event(EventKind.SCRAPE, day, strokes=done.count, side=done.side, blade=done.blade, zone=done.zone)
        for day, done in life.strokes
    ]
    return events + [event(EventKind.PLAYED, day) for day in life.played]


def measurement_of(demo: DemoStudio, reed: Reed, number: Number) -> Measurement:
    """Return a number as it was noted on its day."""
    quantity = QUANTITIES[number.quantity]
    moment = at(demo.starts, number.day)
    return Measurement(
        studio=demo.studio,
        reed=reed,
        quantity=number.quantity,
        value=number.value,
        u=None if number.value is None else quantity.default_u(number.method),
        word=number.word,
        method=number.method,
        moisture=Moisture.WET,
        stage=number.stage,
        by=demo.teacher if number.by_teacher else reed.owner,
        at=moment,
        entered_at=moment,
    )


def findings_of(
    reed: Reed,
    stage: Stage,
    rows: Iterable[Measurement],
    events: Sequence[ReedEvent],
    sheet: Sheet,
    answers: dict[str, int],
) -> list[Finding]:
    """Return what the checks say of a reed at a stage, with these numbers, events and answers at hand."""
    readings = still_told(rows, events)
    facts = ReedFacts(
        style=Style(reed.version.pattern.style),
        stage=stage,
        staple_length=reed.staple_length,
        flexibility=Flexibility(reed.flexibility),
        numbers=newest(readings),
        others=others(readings),
        clips=clips_of(events),
        rested=rested_before_scraping(events),
        bound_for=bound_before_scraping(events),
        answers=answers,
        may_act=reed.owner.may_act,
    )
    return in_order(told(run_checks(facts, sheet), stage))
