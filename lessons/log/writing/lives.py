"""Gathered reeds as rows, each with the events of its life that its list tells."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from django.db.models import Max
from django.utils.translation import gettext as _

from lessons.log.models import ReedLog
from lessons.log.table.gathering import Gathered
from lessons.log.table.headings import folded
from lessons.log.writing.homes import Home
from lessons.log.writing.lots import Lots
from lessons.log.writing.moments import Clock
from lessons.log.writing.pouring import pour
from reeds.numbers.words import Flexibility, Stage
from reeds.reed.models.reed import EventKind, Reed, ReedEvent

# the columns that are written, in order
MADE = (
    *("studio_id", "owner_id", "number", "version_id", "cane_id", "shape", "staple", "staple_length"),
    *("flexibility", "stage", "stage_since", "made_at", "batch", "log"),
)
HAPPENED = (
    *("studio_id", "reed_id", "by_id", "log", "key", "kind", "at"),
    *("from_stage", "to_stage", "version_id", "why"),
)
Cells = tuple[object, ...]


@dataclass
class Lives:
    """What new reeds are made from.

    Attributes
    ----------
    log, clock, lots : ReedLog, Clock, Lots
        The list, its studio's clock, and its lots of cane.
    sheets, versions : mapping
        Measuring sheets by folded name, and the current version of each.
    usual_sheet : int
        The measuring sheet of reeds whose row names none.
    """

    log: ReedLog
    clock: Clock
    lots: Lots
    sheets: Mapping[str, int]
    versions: Mapping[int, int]
    usual_sheet: int
    _next: dict[int, int] = field(default_factory=dict)

    def make(self, told: Sequence[Gathered]) -> dict[int, Home]:
        """Make the reeds that are new, with their events; return them by their place in what is told."""
        self._find_numbers(told)
        new = [(place, one, self._number(one)) for place, one in enumerate(told) if one.there is None]
        pour(Reed, MADE, (self._reed(one, number) for _place, one, number in new))
        rows = Reed.objects.filter(log=self.log.key).values_list("owner", "number", "pk")
        keys = {(owner, number): pk for owner, number, pk in rows}
        made = {p: Home(keys[one.owner, n], one, self.clock.moment(one.made)) for p, one, n in new}
        pour(ReedEvent, HAPPENED, (event for home in made.values() for event in self._events(home)))
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

    def _version(self, one: Gathered) -> int:
        """The current version of the sheet it names, else of the one that was chosen."""
        named = one.facts.get("sheet")
        return self.versions[self.sheets[folded(str(named))] if named else self.usual_sheet]

    def _reed(self, one: Gathered, number: int) -> Cells:
        facts, made = one.facts, self.clock.moment(one.made)
        cane = self.lots.get((one.owner, str(facts.get("cane", "")).casefold()))
        whose = (self.log.studio_id, one.owner, number, self._version(one), cane)
        of = (facts.get("shape", ""), facts.get("staple", ""), facts.get("nominal_staple_length"))
        feel = str(facts.get("feel", Flexibility.UNKNOWN))
        stage = str(one.stage if one.given_up is None else Stage.GIVEN_UP)
        since = max([made, *(at for _kind, at, _stage in self._steps(one, made))])
        return (*whose, *of, feel, stage, since, made, uuid.uuid4(), self.log.key)

    def _events(self, home: Home) -> Iterator[Cells]:
        """That it was made, its steps, and that it was given up."""
        one, made = home.told, home.made_at
        begun = (self.log.studio_id, home.pk, self.log.by_id, self.log.key)
        yield (*begun, uuid.uuid4(), EventKind.MADE.value, made, "", str(Stage.CANE), self._version(one), "")
        before = Stage.CANE
        for kind, at, stage in self._steps(one, made):
            why = (one.given_up or _("The list does not say why.")) if stage is Stage.GIVEN_UP else ""
            yield (*begun, uuid.uuid4(), kind.value, at, str(before), str(stage), None, why)
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
