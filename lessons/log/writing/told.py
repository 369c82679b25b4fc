"""What lines tell of their reeds as rows: numbers, playing tests, notes."""

from __future__ import annotations

import datetime as dt
import textwrap
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from django.db.models import Max

from lessons.log.models import ReedLog
from lessons.log.table.gathering import Gathered, measured_when, rates
from lessons.log.table.lines import Line, Reading, method_of
from lessons.log.writing.homes import Home
from lessons.log.writing.methods import Tools
from lessons.log.writing.moments import Clock
from lessons.log.writing.pouring import pour
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import EFFORT, Method, Moisture, Stage
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import EventKind, ReedEvent

AT_ONCE = 2_000
NOTE_LENGTH = 300


# the columns that are written, in order
MEASURED = (
    *("studio_id", "reed_id", "quantity", "own_id", "value", "word", "u"),
    *("method", "moisture", "stage", "by_id", "at", "key", "log"),
)
TESTED = ("studio_id", "reed_id", "by_id", "at", "effort", "log")
RATED = ("studio_id", "test_id", "item", "speaks", "effort")
NOTED = ("studio_id", "reed_id", "kind", "by_id", "at", "why", "key", "log")
Cells = tuple[object, ...]


@dataclass
class Told:
    """Rows still to be written, and how many were; `flush` writes what is left."""

    log: ReedLog
    clock: Clock
    tools: Tools
    own: Mapping[str, int]
    numbers: int = 0
    tests: int = 0
    notes: int = 0
    _numbers: list[Cells] = field(default_factory=list)
    _tests: list[tuple[Cells, dict[str, Cells]]] = field(default_factory=list)
    _notes: list[Cells] = field(default_factory=list)

    def take(self, line: Line, home: Home) -> None:
        """Add what a line tells of its reed."""
        said, key = method_of(line), uuid.uuid5(self.log.key, str(line.row))
        self._numbers += (self._number(line, home, one, (key, said)) for one in line.readings)
        if rates(line):
            self._tests.append((self._test(line, home), _ratings(line)))
        if "note" in line.texts:
            self._notes += self._note(line, home)
        if max(len(self._numbers), len(self._tests), len(self._notes)) >= AT_ONCE:
            self.flush()

    def _at(self, line: Line, home: Home, stage: Stage) -> dt.datetime:
        return self.clock.moment(measured_when(line, home.told, stage), home.made_at)

    def _whose(self, home: Home) -> int | None:
        """Who measured it: the student whose own list it is; of another's list it is not known."""
        return self.log.by_id if self.log.by_id == home.told.owner else None

    def _number(self, line: Line, home: Home, one: Reading, of_row: tuple[uuid.UUID, Method | None]) -> Cells:
        key, said = of_row
        quantity, way = one.quantity, self.tools.way(one, said)
        felt = Moisture.UNKNOWN if quantity.at_bench else line.words.get("moisture", Moisture.UNKNOWN)
        what = (self.log.studio_id, home.pk, quantity.key, self.own.get(quantity.key))
        said_of_it = (one.value, one.word, way.u if one.value is not None else None)
        how = (str(way.method), str(felt), str(_stage_of(quantity, home.told)), self._whose(home))
        return (*what, *said_of_it, *how, self._at(line, home, quantity.stage), key, self.log.key)

    def _test(self, line: Line, home: Home) -> Cells:
        at = self._at(line, home, Stage.PLAYING)
        effort = line.grades.get(EFFORT)
        return self.log.studio_id, home.pk, self._whose(home), at, effort, self.log.key

    def _note(self, line: Line, home: Home) -> Iterator[Cells]:
        """A note, in parts as long as a reed's life takes them."""
        at, who = self._at(line, home, Stage.CANE), self.log.by_id
        for part in textwrap.wrap(line.texts["note"], NOTE_LENGTH):
            yield self.log.studio_id, home.pk, EventKind.NOTE.value, who, at, part, uuid.uuid4(), self.log.key

    def flush(self) -> None:
        """Write what was taken."""
        pour(Measurement, MEASURED, self._numbers)
        pour(ReedEvent, NOTED, self._notes)
        self._flush_tests()
        self.numbers, self.tests = self.numbers + len(self._numbers), self.tests + len(self._tests)
        self.notes += len(self._notes)
        self._numbers, self._tests, self._notes = [], [], []

    def _flush_tests(self) -> None:
        """Write playing tests, then their ratings by the keys they got, which go up as they were written."""
        before = PlayingTest.objects.filter(log=self.log.key).aggregate(newest=Max("pk"))["newest"] or 0
        pour(PlayingTest, TESTED, (test for test, _rated in self._tests))
        fresh = PlayingTest.objects.filter(log=self.log.key, pk__gt=before).order_by("pk")
        made = zip(fresh.values_list("pk", flat=True), self._tests, strict=True)
        ratings = ((pk, item, *given) for pk, (_test, rated) in made for item, given in rated.items())
        pour(Rating, RATED, ((self.log.studio_id, *rating) for rating in ratings))


def _stage_of(quantity: Quantity, told: Gathered) -> Stage:
    """At which stage it was measured: as far as the reed is, if it is asked then, else when it first is."""
    return told.stage if told.stage in quantity.stages else quantity.stage


def _ratings(line: Line) -> dict[str, Cells]:
    """How each item spoke, and how hard it was to blow."""
    speaks, blows = (_rated(line, what) for what in ("plays_", "blows_"))
    return {item: (speaks.get(item), blows.get(item)) for item in dict.fromkeys([*speaks, *blows])}


def _rated(line: Line, what: str) -> dict[str, int]:
    return {key.removeprefix(what): grade for key, grade in line.grades.items() if key.startswith(what)}
