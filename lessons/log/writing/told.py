"""What lines tell of their reeds as rows: numbers, playing tests, notes."""

from __future__ import annotations

import datetime as dt
import textwrap
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field

from lessons.log.models import ReedLog
from lessons.log.table.gathering import Gathered, measured_when, rates
from lessons.log.table.lines import Line, Reading, method_of
from lessons.log.writing.methods import Tools, Way
from lessons.log.writing.moments import Clock
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import EFFORT, Moisture, Stage
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import EventKind, ReedEvent
from reeds.sheet.models.own import OwnQuantity

AT_ONCE = 2_000
NOTE_LENGTH = 300


@dataclass(frozen=True)
class Home:
    """The reed that a line speaks of: its row's key, what is told of it, when it was made."""

    pk: int
    told: Gathered
    made_at: dt.datetime


@dataclass
class Told:
    """Rows still to be written, and how many were; `flush` writes what is left."""

    log: ReedLog
    clock: Clock
    tools: Tools
    own: Mapping[str, OwnQuantity]
    numbers: int = 0
    tests: int = 0
    notes: int = 0
    _numbers: list[Measurement] = field(default_factory=list)
    _tests: list[tuple[PlayingTest, list[Rating]]] = field(default_factory=list)
    _notes: list[ReedEvent] = field(default_factory=list)

    def take(self, line: Line, home: Home) -> None:
        """Add what a line tells of its reed."""
        said, key = method_of(line), uuid.uuid5(self.log.key, str(line.row))
        for reading in line.readings:
            self._numbers.append(self._measurement(line, home, reading, key, self.tools.way(reading, said)))
        if rates(line):
            self._tests.append(self._test(line, home))
        if "note" in line.texts:
            self._notes += self._note(line, home)
        if len(self._numbers) >= AT_ONCE or len(self._tests) >= AT_ONCE or len(self._notes) >= AT_ONCE:
            self.flush()

    def _at(self, line: Line, home: Home, stage: Stage) -> dt.datetime:
        return self.clock.moment(measured_when(line, home.told, stage), home.made_at)

    def _whose(self, home: Home) -> int | None:
        """Who measured it: the student whose own list it is; of another's list it is not known."""
        return self.log.by_id if self.log.by_id == home.told.owner else None

    def _measurement(self, line: Line, home: Home, reading: Reading, key: uuid.UUID, way: Way) -> Measurement:
        quantity = reading.quantity
        stage = _stage_of(quantity, home.told)
        felt = Moisture.UNKNOWN if quantity.at_bench else line.words.get("moisture", Moisture.UNKNOWN)
        return Measurement(
            studio_id=self.log.studio_id,
            reed_id=home.pk,
            quantity=quantity.key,
            own=self.own.get(quantity.key),
            value=reading.value,
            word=reading.word,
            u=way.u if reading.value is not None else None,
            method=way.method,
            moisture=felt,
            stage=stage,
            by_id=self._whose(home),
            at=self._at(line, home, quantity.stage),
            key=key,
            log=self.log.key,
        )

    def _test(self, line: Line, home: Home) -> tuple[PlayingTest, list[Rating]]:
        test = PlayingTest(
            studio_id=self.log.studio_id,
            reed_id=home.pk,
            by_id=self._whose(home),
            at=self._at(line, home, Stage.PLAYING),
            effort=line.grades.get(EFFORT),
            log=self.log.key,
        )
        speaks, blows = (_rated(line, what) for what in ("plays_", "blows_"))
        ratings = [
            Rating(
                studio_id=self.log.studio_id,
                test=test,
                item=item,
                speaks=speaks.get(item),
                effort=blows.get(item),
            )
            for item in dict.fromkeys([*speaks, *blows])
        ]
        return test, ratings

    def _note(self, line: Line, home: Home) -> list[ReedEvent]:
        """A note, in parts as long as a reed's life takes them."""
        parts = textwrap.wrap(line.texts["note"], NOTE_LENGTH)
        return [
            ReedEvent(
                studio_id=self.log.studio_id,
                reed_id=home.pk,
                kind=EventKind.NOTE,
                by_id=self.log.by_id,
                at=self._at(line, home, Stage.CANE),
                why=part,
                log=self.log.key,
            )
            for part in parts
        ]

    def flush(self) -> None:
        """Write what was taken."""
        Measurement.objects.bulk_create(self._numbers, batch_size=AT_ONCE)
        ReedEvent.objects.bulk_create(self._notes, batch_size=AT_ONCE)
        PlayingTest.objects.bulk_create([test for test, _ratings in self._tests], batch_size=AT_ONCE)
        ratings = [rating for _test, some in self._tests for rating in some]
        for rating in ratings:
            rating.test_id = rating.test.pk
        Rating.objects.bulk_create(ratings, batch_size=AT_ONCE)
        self.numbers, self.tests = self.numbers + len(self._numbers), self.tests + len(self._tests)
        self.notes += len(self._notes)
        self._numbers, self._tests, self._notes = [], [], []


def _stage_of(quantity: Quantity, told: Gathered) -> Stage:
    """At which stage it was measured: as far as the reed is, if it is asked then, else when it first is."""
    return told.stage if told.stage in quantity.stages else quantity.stage


def _rated(line: Line, what: str) -> dict[str, int]:
    return {key.removeprefix(what): grade for key, grade in line.grades.items() if key.startswith(what)}
