"""A row of the file read by its columns: what it says of a reed, or what is wrong with which cell."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from lessons.log.table.cells import CellRefused, Use, Value, read_cell
from lessons.log.table.columns import Column, Kind
from lessons.log.table.days import When
from lessons.log.table.headings import factor_of, folded
from lessons.log.table.rows import Row
from reeds.numbers.guard import unguarded
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Method, Refused
from reeds.numbers.words import gettext_noop as _

MORE_CELLS = _("It has more cells than there are headings: is a decimal comma taken for a delimiter?")
NO_QUANTITY = _("“%(typed)s” is nothing that is measured here.")
NO_VALUE = _("It names what was measured and has no number, or a number without what it is.")
WRONG_UNIT = _("“%(typed)s” is no unit of %(name)s.")
TWICE = _("%(name)s stands in this row twice.")
NEEDS_DOUBT = _("%(name)s is measured on a photo or a recording: it needs its doubt beside it.")

# so many different cells of a column are remembered as they were read
_REMEMBERED = 2_000
# where what was read of a row is put
_WHERE = {
    Kind.TEXT: "texts",
    Kind.WHOLE: "grades",
    Kind.DAY: "days",
    Kind.NUMBER: "numbers",
    Kind.WORD: "words",
    Kind.GRADE: "grades",
}
# a dash alone is how people leave a cell empty
NOTHING = ("", "-", "–", "—")
# the columns that speak of one number a row
ONE_NUMBER = ("quantity", "value", "u", "unit")


class Wrong(NamedTuple):
    """What is wrong: row as a spreadsheet counts, heading ('' for the whole row), the marked sentence."""

    row: int
    heading: str
    sentence: str
    params: dict[str, object]


class Reading(NamedTuple):
    """One number or word of a row, in the unit of its quantity; `u` where the file tells it."""

    quantity: Quantity
    value: float | None = None
    word: str = ""
    u: float | None = None


@dataclass(slots=True)
class Line:
    """A row as it was read; of one with something in `wrong` nothing is used.

    Attributes
    ----------
    row : int
        As a spreadsheet counts.
    texts, days, words, grades, numbers : dict
        What its cells say, by the key of their column; an empty cell is not in it. `numbers` holds those
        that are no readings.
    readings : list of Reading
        What was measured or seen.
    wrong : list of Wrong
        Every cell that cannot be read.
    """

    row: int
    texts: dict[str, str] = field(default_factory=dict)
    days: dict[str, When] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)
    grades: dict[str, int] = field(default_factory=dict)
    numbers: dict[str, float] = field(default_factory=dict)
    readings: list[Reading] = field(default_factory=list)
    wrong: list[Wrong] = field(default_factory=list)

    def refuse(self, heading: str, refusal: Refused) -> None:
        """Note that a cell, or the row, cannot be used."""
        self.wrong.append(Wrong(self.row, heading, refusal.sentence, refusal.params))


@dataclass(frozen=True)
class Reader:
    """How rows are read.

    Attributes
    ----------
    uses : tuple of Use
        The columns of the file that are taken for something.
    width : int
        How many headings there are.
    readings : mapping of str to Column
        What a row may name as measured, by folded key and name; also what is never typed.
    """

    uses: tuple[Use, ...]
    width: int
    readings: Mapping[str, Column]
    _read: dict[int, dict[str, Value]] = field(default_factory=lambda: defaultdict(dict), repr=False)

    def lines(self, rows: Iterable[Row]) -> Iterator[Line]:
        """Yield each row as it was read."""
        for row in rows:
            yield self.line(row)

    def line(self, row: Row) -> Line:
        """Return one row as it was read."""
        line = Line(row.number)
        if len(row.cells) > self.width:
            line.refuse("", CellRefused(MORE_CELLS))
            return line
        for use in self.uses:
            typed = row.cells[use.place] if use.place < len(row.cells) else ""
            if typed not in NOTHING:
                self._cell(line, use, typed)
        self._one_number(line)
        return line

    def _cell(self, line: Line, use: Use, typed: str) -> None:
        """Read a cell; what a column says again and again is read once."""
        read = self._read[use.place].get(typed)
        try:
            if read is None:
                read = read_cell(use, typed)
                if len(self._read[use.place]) < _REMEMBERED:
                    self._read[use.place][typed] = read
            _put(line, use.column, read)
        except Refused as refusal:
            line.refuse(use.heading, refusal)

    def _one_number(self, line: Line) -> None:
        """Read the number of a row that names what it is of."""
        what, typed = line.texts.get("quantity"), line.texts.get("value")
        if what is None and typed is None:
            return
        try:
            line.readings.append(self._named_reading(line, what, typed))
        except Refused as refusal:
            line.refuse(self._heading("value"), refusal)

    def _named_reading(self, line: Line, what: str | None, typed: str | None) -> Reading:
        if what is None or typed is None:
            raise CellRefused(NO_VALUE)
        column = self.readings.get(folded(what))
        if column is None or column.quantity is None:
            raise CellRefused(NO_QUANTITY, typed=what)
        if any(one.quantity.key == column.key for one in line.readings):
            raise CellRefused(TWICE, name=column.name)
        unit, u = line.texts.get("unit", ""), line.numbers.get("u")
        factor = factor_of(column, unit)
        if factor is None:
            raise CellRefused(WRONG_UNIT, typed=unit, name=column.name)
        read = read_cell(Use(0, "", column, unit if factor != 1.0 else "", factor), unguarded(typed))
        if not isinstance(read, float):
            return Reading(column.quantity, word=str(read))
        _must_have_doubt(column.quantity, u)
        return Reading(column.quantity, value=read, u=None if u is None else u * factor)

    def _heading(self, key: str) -> str:
        return next((use.heading for use in self.uses if use.column.key == key), "")


def _must_have_doubt(quantity: Quantity, u: float | None) -> None:
    """Refuse a number without doubt of a kind that no hand reads."""
    if u is None and not quantity.is_typed:
        raise CellRefused(NEEDS_DOUBT, name=quantity.name)


def _put(line: Line, column: Column, read: Value) -> None:
    """Put what was read where it belongs."""
    if column.quantity is None:
        getattr(line, _WHERE[column.kind])[column.key] = read
    elif isinstance(read, str):
        line.readings.append(Reading(column.quantity, word=read))
    elif isinstance(read, float):
        line.readings.append(Reading(column.quantity, value=read))


def method_of(line: Line) -> Method | None:
    """Return how the numbers of a row were measured, where it says so."""
    word = line.words.get("method")
    return Method(word) if word else None
