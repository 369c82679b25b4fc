"""Gathered reeds as rows, each with the events of its life that its list tells."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from django.db.models import Max
from django.utils.translation import gettext as _

from lessons.log.models import ReedLog
from lessons.log.table.gathering import Gathered
from lessons.log.table.headings import folded
from lessons.log.writing.lots import Lots
from lessons.log.writing.moments import Clock
from reeds.numbers.words import Flexibility, Stage
from reeds.reed.models.reed import EventKind, Reed, ReedEvent

AT_ONCE = 2_000


@dataclass
class Lives:
    """What new reeds are made from.

    Attributes
    ----------
    log, clock, lots : ReedLog, Clock, Lots
        The list, its studio's clock, and its lots of cane.
    sheets, versions : mapping
        Measuring sheets by folded name, and the current version of each.
    """

    log: ReedLog
    clock: Clock
    lots: Lots
    sheets: Mapping[str, int]
    versions: Mapping[int, int]
    _next: dict[int, int] = field(default_factory=dict)

    def make(self, told: Sequence[Gathered]) -> dict[int, Reed]:
        """Make the reeds that are new, with their events; return them by their place in what is told."""
        self._find_numbers(told)
        made: dict[int, Reed] = {}
        places = [place for place, one in enumerate(told) if one.there is None]
        for start in range(0, len(places), AT_ONCE):
            some = places[start : start + AT_ONCE]
            reeds = Reed.objects.bulk_create([self._reed(told[place]) for place in some])
            made.update(zip(some, reeds, strict=True))
            events = [event for place in some for event in self._events(told[place], made[place])]
            ReedEvent.objects.bulk_create(events, batch_size=AT_ONCE)
        return made

    def _find_numbers(self, told: Iterable[Gathered]) -> None:
        """Find the first number of each owner that nobody uses, here or in the list."""
        rows = Reed.objects.filter(studio=self.log.studio_id).values("owner").annotate(highest=Max("number"))
        self._next = {row["owner"]: row["highest"] + 1 for row in rows.order_by()}
        for one in told:
            if one.there is None and one.number is not None:
                self._next[one.owner] = max(self._next.get(one.owner, 1), one.number + 1)

    def _number(self, one: Gathered) -> int:
        if one.number is not None:
            return one.number
        number = self._next.get(one.owner, 1)
        self._next[one.owner] = number + 1
        return number

    def _reed(self, one: Gathered) -> Reed:
        sheet = (
            self.sheets[folded(str(one.facts["sheet"]))] if "sheet" in one.facts else self.log.chosen.sheet
        )
        made = self.clock.moment(one.made)
        length = one.facts.get("nominal_staple_length")
        return Reed(
            studio_id=self.log.studio_id,
            owner_id=one.owner,
            number=self._number(one),
            version_id=self.versions[sheet or 0],
            cane_id=self.lots.get((one.owner, str(one.facts.get("cane", "")).casefold())),
            shape=str(one.facts.get("shape", "")),
            staple=str(one.facts.get("staple", "")),
            staple_length=length,
            flexibility=str(one.facts.get("feel", Flexibility.UNKNOWN)),
            stage=one.stage if one.given_up is None else Stage.GIVEN_UP,
            stage_since=max([made, *(at for _kind, at, _stage in self._steps(one, made))]),
            made_at=made,
            log=self.log.key,
        )

    def _events(self, one: Gathered, reed: Reed) -> Iterator[ReedEvent]:
        """That it was made, its steps, and that it was given up."""
        more = {"studio_id": reed.studio_id, "reed": reed, "by_id": self.log.by_id, "log": self.log.key}
        made = ReedEvent(kind=EventKind.MADE, at=reed.made_at, to_stage=Stage.CANE, **more)
        made.version_id = reed.version_id
        yield made
        before = Stage.CANE
        for kind, at, stage in self._steps(one, reed.made_at):
            event = ReedEvent(kind=kind, at=at, from_stage=before, to_stage=stage, **more)
            if stage is Stage.GIVEN_UP:
                event.why = one.given_up or _("The list does not say why.")
            yield event
            before = stage

    def _steps(self, one: Gathered, made: dt.datetime) -> list[tuple[EventKind, dt.datetime, Stage]]:
        """Its steps in order: those with a day, the furthest where it has none, giving up last."""
        dated = {stage: self.clock.moment(when, made) for stage, when in one.steps.items()}
        given_up = dated.pop(Stage.GIVEN_UP, None)
        last = max([made, self.clock.moment(one.last, made), *dated.values()])
        if one.stage is not Stage.CANE and one.stage not in dated and not _would_end_a_rest(one, dated):
            dated[one.stage] = last
        steps = [
            (EventKind.STAGE, at, stage) for stage, at in sorted(dated.items(), key=lambda it: it[0].order)
        ]
        if one.given_up is not None:
            steps.append((EventKind.GIVEN_UP, given_up or last, Stage.GIVEN_UP))
        return steps


def _would_end_a_rest(one: Gathered, dated: Mapping[Stage, dt.datetime]) -> bool:
    """Whether a step without a day would end a rest whose beginning has one: how long it was is not known."""
    begun, ended = (any(test(stage) for stage in dated) for test in (_is_blank, _is_further))
    return begun and not ended and _is_further(one.stage)


def _is_blank(stage: Stage) -> bool:
    return stage.is_blank


def _is_further(stage: Stage) -> bool:
    return stage.order >= Stage.SCRAPED.order
