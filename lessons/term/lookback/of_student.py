"""A student's rows of a term set out in order of time, one value a reed: what questions are asked of."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple, Protocol, TypeVar

from lessons.term.lookback.evenness import Evenness, evenness
from lessons.term.lookback.recurrence import SentInTerm
from lessons.term.lookback.rows import FoundInTerm, RatedInTerm, ReadingInTerm, ReedInTerm


class RowsOfTerm(Protocol):
    """What a term's sentences are made of."""

    @property
    def reeds(self) -> Sequence[ReedInTerm]: ...
    @property
    def readings(self) -> Mapping[str, Sequence[ReadingInTerm]]: ...
    @property
    def rated(self) -> Sequence[RatedInTerm]: ...
    @property
    def found(self) -> Sequence[FoundInTerm]: ...
    @property
    def first_sent(self) -> Sequence[SentInTerm]: ...


class Value(NamedTuple):
    """One number of one reed; `u` is its doubt, 0 for what was counted or rated."""

    reed: int
    day: dt.date
    value: float
    u: float = 0.0


@dataclass(frozen=True)
class OfStudent:
    """One student's term, every list in order of time.

    `off_aim` holds (value - aim) by quantity, `spoke` the ratings 1 to 5 by item, `kinds` which reeds had a
    finding, by (about, outcome); `staples` the nominal length of each reed's staple, mm.
    """

    student: int
    reeds: Sequence[ReedInTerm]
    off_aim: Mapping[str, list[Value]]
    spoke: Mapping[str, list[Value]]
    sent: Sequence[SentInTerm]
    kinds: Mapping[tuple[str, str], frozenset[int]]
    _even: dict[str, Evenness | None] = field(default_factory=dict, compare=False, repr=False)

    def even(self, key: str) -> Evenness | None:
        """Return how even the hand is in one quantity; a page asks it several times."""
        if key not in self._even:
            values = self.off_aim[key]
            self._even[key] = evenness([one.value for one in values], [one.u for one in values])
        return self._even[key]

    @property
    def staples(self) -> dict[int, float | None]:
        return {row.reed: row.staple_length for row in self.reeds}


def of_students(rows: RowsOfTerm, asks_for_a_number: frozenset[str]) -> list[OfStudent]:
    """Return the rows of each student who has any, by their key.

    `asks_for_a_number` are the outcomes that only ask for a number: they are no findings of the reed.
    """
    reeds, sent = _by_student(rows.reeds), _by_student(rows.first_sent)
    readings = {key: _by_student(of_it) for key, of_it in rows.readings.items()}
    rated, found = _by_student(rows.rated), _by_student(rows.found)
    students = sorted({*reeds, *sent, *rated, *(one for by in readings.values() for one in by)})
    return [
        OfStudent(
            student,
            reeds[student],
            {key: _off_aim(by[student]) for key, by in readings.items() if student in by},
            _spoke(rated[student]),
            sorted(sent[student], key=lambda row: (row.at, row.reed)),
            _kinds(row for row in found[student] if row.outcome not in asks_for_a_number),
        )
        for student in students
    ]


class _HasStudent(Protocol):
    @property
    def student(self) -> int: ...


Row = TypeVar("Row", bound=_HasStudent)
Dated = TypeVar("Dated", ReadingInTerm, RatedInTerm)


def _by_student(rows: Iterable[Row]) -> dict[int, list[Row]]:
    by: dict[int, list[Row]] = defaultdict(list)
    for row in rows:
        by[row.student].append(row)
    return by


def _off_aim(readings: Iterable[ReadingInTerm]) -> list[Value]:
    """The last number of each reed; the student's own before the teacher's, since it is their hand and
    eye."""
    last: dict[int, ReadingInTerm] = {}
    for row in sorted(readings, key=lambda row: (not row.by_teacher, row.at, row.value)):
        if row.aim is not None:
            last[row.reed] = row
    return [Value(row.reed, row.at.date(), row.value - (row.aim or 0.0), row.u) for row in _in_time(last)]


def _spoke(rated: Iterable[RatedInTerm]) -> dict[str, list[Value]]:
    """The last rating of each item of each reed, likewise."""
    last: dict[tuple[str, int], RatedInTerm] = {}
    for row in sorted(rated, key=lambda row: (not row.by_teacher, row.at, row.speaks or 0)):
        if row.speaks is not None:
            last[row.item, row.reed] = row
    by_item: dict[str, list[Value]] = defaultdict(list)
    for row in _in_time(last):
        by_item[row.item].append(Value(row.reed, row.at.date(), float(row.speaks or 0)))
    return dict(sorted(by_item.items()))


def _in_time(last: Mapping[Any, Dated]) -> list[Dated]:
    return sorted(last.values(), key=lambda row: (row.at, row.reed))


def _kinds(found: Iterable[FoundInTerm]) -> dict[tuple[str, str], frozenset[int]]:
    by: dict[tuple[str, str], set[int]] = defaultdict(set)
    for row in found:
        by[row.about, row.outcome].add(row.reed)
    return {kind: frozenset(reeds) for kind, reeds in sorted(by.items())}
