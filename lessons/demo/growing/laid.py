"""A demo studio laid out as large as the grown ones are: all of them are copies of this one plan.

Each place of a grown studio has a student of the demo's, in turn; what is theirs is laid once for each place,
what is the studio's once.
"""

from __future__ import annotations

import datetime as dt
import itertools
import uuid
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import Field, Model

from lessons.demo.growing.tables import Key, Row, Table, students_of, tables_of
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from studio.models import Member, Role, Studio

STUDENTS = 20
# of one student the newest; who has fewer in the demo has fewer here: 25 in the mean
REEDS_AT_MOST = 32
# what is measured is measured again until a reed has so many
NUMBERS_EACH = 12
SECOND_READING = dt.timedelta(minutes=10)


class Copy(NamedTuple):
    """A row of the demo's at one place of a grown studio.

    `place` is 0 for what is the studio's own, else which student's it is; `turn` how many of the places
    before have the same student of the demo's.
    """

    row: Row
    place: int
    turn: int


@dataclass(frozen=True)
class Laid:
    """One table as each grown studio has it.

    `refs` has by the name of a key's column, for each copy, where its target stands among the copies of the
    target's table; None where it leads nowhere.
    """

    model: type[Model]
    fields: list[Field[Any, Any]]
    copies: list[Copy]
    refs: dict[str, list[int | None]]


def laid_out(studio: Studio) -> list[Laid]:
    """Read a demo studio and lay it out."""
    tables = {table.model: table for table in tables_of(studio)}
    students = [pk for pk, row in tables[Member].rows.items() if row["role"] == Role.STUDENT]
    whose = {model: students_of(table, set(students)) for model, table in tables.items()}
    _fewer_reeds(tables)
    _more_numbers(tables[Measurement], whose[Measurement])
    return _Plan(tables, whose, students).laid()


def _fewer_reeds(tables: Mapping[type[Model], Table]) -> None:
    """Leave out all but the newest reeds, and whatever hangs on the others."""
    theirs: dict[int, list[Row]] = defaultdict(list)
    for row in tables[Reed].rows.values():
        theirs[row["owner_id"]].append(row)
    for rows in theirs.values():
        rows.sort(key=lambda row: (row["made_at"], row["id"]), reverse=True)
    gone: dict[type[Model], set[Any]] = {
        Reed: {row["id"] for rows in theirs.values() for row in rows[REEDS_AT_MOST:]}
    }
    while any(gone.values()):
        for model, pks in gone.items():
            for pk in pks:
                del tables[model].rows[pk]
        gone = {model: _hanging(table, tables) for model, table in tables.items()}


def _hanging(table: Table, tables: Mapping[type[Model], Table]) -> set[Any]:
    """Return the rows that lead to nothing; where a column may be empty, it is."""
    found = set()
    for field in table.keys_elsewhere:
        there = tables.get(field.related_model)
        for pk, row in table.rows.items():
            if there is None or row[field.attname] is None or row[field.attname] in there.rows:
                continue
            if field.null:
                row[field.attname] = None
            else:
                found.add(pk)
    return found


def _more_numbers(table: Table, whose: dict[Any, int]) -> None:
    """Have each reed's numbers read again, a little later, until there are enough of them."""
    by_reed: dict[int, list[Row]] = defaultdict(list)
    for row in table.rows.values():
        by_reed[row["reed_id"]].append(row)
    free = itertools.count(max(table.rows, default=0) + 1)
    for rows in by_reed.values():
        again = itertools.islice(itertools.cycle(rows), max(0, NUMBERS_EACH - len(rows)))
        for turn, row in enumerate(again, start=1):
            pk = next(free)
            table.rows[pk] = _read_again(row, turn) | {"id": pk}
            if row["id"] in whose:
                whose[pk] = whose[row["id"]]


def _read_again(row: Row, turn: int) -> Row:
    later = {name: row[name] + turn * SECOND_READING for name in ("at", "entered_at")}
    return row | later | {"key": uuid.uuid5(row["key"], str(turn))}


class _Plan:
    """Which row is laid where."""

    def __init__(
        self,
        tables: Mapping[type[Model], Table],
        whose: dict[type[Model], dict[Any, int]],
        students: list[int],
    ) -> None:
        self.tables, self.whose = tables, whose
        self.places: dict[int, list[int]] = defaultdict(list)
        self.turns = {0: 0}
        for place, student in zip(range(1, STUDENTS + 1), itertools.cycle(students), strict=False):
            self.turns[place] = len(self.places[student])
            self.places[student].append(place)
        self.whose |= {model: self._tied(one) for model, one in tables.items() if model._meta.auto_created}
        self.at = {model: self._laid_at(model) for model in tables}

    def laid(self) -> list[Laid]:
        return [self._table(table) for table in self.tables.values()]

    def _tied(self, table: Table) -> dict[Any, int]:
        """What ties a student's row to another is the student's."""
        found: dict[Any, int] = {}
        for field in table.keys_elsewhere:
            theirs = self.whose.get(field.related_model, {})
            known = {pk: theirs.get(row[field.attname]) for pk, row in table.rows.items()}
            found |= {pk: student for pk, student in known.items() if student is not None}
        return found

    def _laid_at(self, model: type[Model]) -> dict[tuple[Any, int], int]:
        """Return where each copy of a row stands, by its primary key and its place."""
        copies = ((pk, place) for pk in self.tables[model].rows for place in self._places_of(model, pk))
        return {copy: index for index, copy in enumerate(copies)}

    def _places_of(self, model: type[Model], pk: Any) -> list[int]:  # noqa: ANN401  # a key
        student = self.whose[model].get(pk)
        return [0] if student is None else self.places[student]

    def _table(self, table: Table) -> Laid:
        copies = [Copy(table.rows[pk], place, self.turns[place]) for pk, place in self.at[table.model]]
        refs = {
            field.attname: [self._target(field, copy) for copy in copies]
            for field in table.keys_elsewhere
            if field.related_model in self.tables
        }
        return Laid(table.model, table.fields, copies, refs)

    def _target(self, field: Key, copy: Copy) -> int | None:
        """Return where the row stands that a copy leads to: of the same student, of the studio, or near."""
        pk = copy.row[field.attname]
        if pk is None:
            return None
        places = self._places_of(field.related_model, pk)
        near = copy.place if copy.place in places else places[min(copy.turn, len(places) - 1)]
        return self.at[field.related_model][pk, near]
