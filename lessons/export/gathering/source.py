"""A table of an export said as data: which rows, and which columns come of which of their fields."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple, Protocol

from django.db.models import Model

from lessons.export.gathering.scope import Rows, Scope
from lessons.export.packing.cells import Cell
from lessons.export.packing.shapes import Column, Kind, Shape
from reeds.numbers.words import gettext_noop as _

AT_ONCE = 2000
Cells = Sequence[Cell]


class FileHere(NamedTuple):
    """A file of an export: of which row, its name in the storage, and its path in the export."""

    table: str
    pk: int
    stored: str
    path: str


class Table(Protocol):
    """What can be written into an export."""

    @property
    def shape(self) -> Shape: ...
    @property
    def models(self) -> Sequence[type[Model]]: ...
    def rows(self, scope: Scope) -> Iterable[Cells]: ...


@dataclass(frozen=True)
class Field:
    """Columns that come of one or more fields of a row."""

    columns: tuple[Column, ...]
    paths: tuple[str, ...]
    cells: Callable[..., Cells]  # of the scope and the values
    leads: str = ""


def _same(_scope: Scope, value: Cell) -> Cells:
    return (value,)


def plain(name: str, said: str, kind: Kind = Kind.TEXT, *, path: str = "", unit: str = "") -> Field:
    """Return a column that holds a field as it is."""
    return Field((Column(name, said, kind, unit),), (path or name,), _same)


def number(name: str, said: str, unit: str = "", *, path: str = "") -> Field:
    """Return a column of numbers."""
    return plain(name, said, Kind.NUMBER, path=path, unit=unit)


def word(name: str, said: str, words: Iterable[tuple[Any, Any]], *, path: str = "") -> Field:
    """Return a column of words from a closed list of (word, label)."""
    known = tuple(words)
    kind = Kind.WHOLE if all(isinstance(value, int) for value, _label in known) else Kind.TEXT
    listed = tuple((str(value), label) for value, label in known)
    return Field((Column(name, said, kind, words=listed),), (path or name,), _same)


def moment(name: str, said: str, *, path: str = "") -> Field:
    """Return a column of moments, on the studio's clock."""
    cells = lambda scope, at: (scope.local(at),)  # noqa: E731  # one line, read where it is used
    return Field((Column(name, said, Kind.MOMENT),), (path or name,), cells)


def person(name: str, said: str, *, path: str = "") -> Field:
    """Return a column of names of members; empty for one whose name is not this export's to tell."""
    cells = lambda scope, member: (scope.names.get(member, ""),)  # noqa: E731
    return Field((Column(name, said),), (path or name,), cells)


def link(name: str, table: str, said: str, *, path: str) -> Field:
    """Return a column that leads to another table's row; empty where that row is not in the export."""
    cells = lambda scope, pk: (pk if pk in scope.ids_of(table) else None,)  # noqa: E731
    return Field((Column(name, said, Kind.WHOLE),), (path,), cells, table)


def of_reed(path: str = "reed") -> Field:
    """Return the columns that name a row's reed, by its id and as people name it."""
    columns = (
        Column("reed_id", _("its reed"), Kind.WHOLE),
        Column("student", _("whose reed it is")),
        Column("reed", _("the reed's number, as on its cork"), Kind.WHOLE),
    )
    return Field(columns, (path,), _reed_cells, "reeds")


def _reed_cells(scope: Scope, reed: int) -> Cells:
    here = scope.reeds[reed]
    return reed, scope.names.get(here.owner, ""), here.number


ID = plain("id", _("the row's own number"), Kind.WHOLE, path="pk")


@dataclass(frozen=True, kw_only=True)
class Source:
    """Rows of one model.

    `when`, `whose` and `reed` are paths to the moment that puts a row into a term, to its student and to its
    reed; `taken` takes the rows otherwise than by the rule of who sees what alone.
    """

    name: str
    said: str
    model: type[Model]
    fields: tuple[Field, ...]
    when: str = ""
    whose: str = ""
    reed: str = ""
    taken: Callable[[Scope], Rows] | None = None
    also: tuple[type[Model], ...] = ()

    @property
    def models(self) -> tuple[type[Model], ...]:
        return self.model, *self.also

    @cached_property
    def shape(self) -> Shape:
        columns = tuple(column for field in self.fields for column in field.columns)
        leads = {field.columns[0].name: field.leads for field in self.fields if field.leads}
        return Shape(self.name, self.said, columns, "id" if ID in self.fields else "", leads)

    def asked(self, scope: Scope) -> Rows:
        """Return the rows of this scope; those of a reed that is not in it are left out later."""
        rows = self.taken(scope) if self.taken else self.model.objects.visible_to(scope.member)  # type: ignore[attr-defined]  # a StudioRow
        whose = self.whose or (f"{self.reed}__owner" if self.reed else "")
        return scope.narrowed(rows, when=self.when, whose=whose)

    def reeds(self, scope: Scope) -> Rows:
        """Return the reeds that the rows are of, by id."""
        return self.asked(scope).order_by().values_list(self.reed, flat=True).distinct()

    def ids(self, scope: Scope) -> set[int]:
        """Return the ids of the rows that are in the export."""
        if not self.reed:
            return set(self.asked(scope).values_list("pk", flat=True))
        rows = self.asked(scope).values_list("pk", self.reed)
        return {pk for pk, reed in rows.iterator(chunk_size=AT_ONCE) if reed in scope.reeds}

    def rows(self, scope: Scope) -> Iterator[Cells]:
        """Yield the rows' cells, the oldest row first."""
        paths = [path for field in self.fields for path in field.paths]
        asked = self.asked(scope).order_by("pk").values_list(*paths, *([self.reed] if self.reed else []))
        for values in asked.iterator(chunk_size=AT_ONCE):
            if not self.reed or values[-1] in scope.reeds:
                yield self._cells(scope, values)

    def _cells(self, scope: Scope, values: Sequence[Any]) -> list[Cell]:
        cells: list[Cell] = []
        place = 0
        for field in self.fields:
            after = place + len(field.paths)
            cells.extend(field.cells(scope, *values[place:after]))
            place = after
        return cells


@dataclass(frozen=True, kw_only=True)
class Computed:
    """A table whose rows are made in another way, from the models named."""

    shape: Shape
    models: tuple[type[Model], ...]
    made: Callable[[Scope], Iterable[Cells]]

    def rows(self, scope: Scope) -> Iterable[Cells]:
        return self.made(scope)
