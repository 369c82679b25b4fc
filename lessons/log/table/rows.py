"""Rows of a table as they stand in the file, the bounds they are held to, and how they are kept meanwhile."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import IO, NamedTuple

from reeds.numbers.words import Refused
from reeds.numbers.words import gettext_noop as _

# own choices: what a studio's list of many years needs several times over, and a request can still read
MAX_BYTES = 12 * 1024 * 1024
MAX_ROWS = 50_000
MAX_COLUMNS = 400
MAX_CELLS = 1_500_000
MAX_CELL = 2_000
MAX_TEXT = 48 * 1024 * 1024
MAX_HEADING = 200

EMPTY = _("This file is empty.")
TOO_LARGE = _("This file is larger than %(most)s MB. Save it in parts.")
NO_HEADINGS = _("There is no row in this file that names the columns.")
NO_ROWS = _("This file has headings and no row below them.")
TOO_MANY_ROWS = _("This file has more than %(most)s rows. Save it in parts.")
TOO_MANY_COLUMNS = _("This file has more than %(most)s columns. Leave out those that are not about reeds.")
TOO_MANY_CELLS = _("This file has more than %(most)s cells. Leave out some columns, or save it in parts.")
TOO_MUCH_TEXT = _("This file holds more text than a list of reeds. Leave out some columns.")
LONG_CELL = _("Row %(row)s holds a cell of more than %(most)s characters. Shorten it.")


class TableRefused(Refused):
    """A file that cannot be read as a table."""


class Row(NamedTuple):
    """One row: its number as a spreadsheet counts, from 1, and its cells as text, '' for an empty one."""

    number: int
    cells: tuple[str, ...]


class Said(NamedTuple):
    """Something to tell of how a file was read: a marked sentence and what fills its places."""

    sentence: str
    params: dict[str, object]


@dataclass(frozen=True)
class Table:
    """A table that is read while its rows are gone through.

    Attributes
    ----------
    headings : tuple of str
        The first row that is not empty, without the empty cells at its end.
    rows : iterator of Row
        The rows below that are not empty, once; TableRefused may come while they are gone through.
    said : tuple of Said
        What was decided about the file.
    """

    headings: tuple[str, ...]
    rows: Iterator[Row]
    said: tuple[Said, ...]


def table_of(rows: Iterable[Row], said: Iterable[Said]) -> Table:
    """Return the table of raw rows, the first that is not empty as its headings, held to the bounds.

    Raises
    ------
    TableRefused
        If there are no headings, or too many columns; while rows are gone through, if there are too many
        of them or of cells, or none at all.
    """
    filled = (row for row in map(_tidied, rows) if row.cells)
    first = next(filled, None)
    if first is None:
        raise TableRefused(NO_HEADINGS)
    if len(first.cells) > MAX_COLUMNS:
        raise TableRefused(TOO_MANY_COLUMNS, most=MAX_COLUMNS)
    if max(map(len, first.cells)) > MAX_HEADING:
        raise TableRefused(LONG_CELL, row=first.number, most=MAX_HEADING)
    return Table(first.cells, _bounded(filled), tuple(said))


def _tidied(row: Row) -> Row:
    """Without space around its cells, and without the empty cells at its end."""
    cells = [cell.strip() for cell in row.cells]
    while cells and not cells[-1]:
        cells.pop()
    return Row(row.number, tuple(cells))


def _bounded(rows: Iterator[Row]) -> Iterator[Row]:
    count = cells = text = 0
    for row in rows:
        count, cells, text = count + 1, cells + len(row.cells), text + sum(map(len, row.cells))
        if count > MAX_ROWS:
            raise TableRefused(TOO_MANY_ROWS, most=MAX_ROWS)
        if cells > MAX_CELLS:
            raise TableRefused(TOO_MANY_CELLS, most=MAX_CELLS)
        if text > MAX_TEXT:
            raise TableRefused(TOO_MUCH_TEXT)
        if max(map(len, row.cells)) > MAX_CELL:
            raise TableRefused(LONG_CELL, row=row.number, most=MAX_CELL)
        yield row
    if not count:
        raise TableRefused(NO_ROWS)


def keep_rows(table: Table, file: IO[str]) -> int:
    """Write a table's rows for `kept_rows` to a file opened with newline=''; return how many."""
    writer = csv.writer(file)
    count = 0
    for count, row in enumerate(table.rows, start=1):  # noqa: B007  # the last one is how many
        writer.writerow([row.number, *row.cells])
    return count


def kept_rows(file: Iterable[str]) -> Iterator[Row]:
    """Yield the rows that `keep_rows` wrote, from the lines of its file."""
    for cells in csv.reader(file):
        yield Row(int(cells[0]), tuple(cells[1:]))
