"""A table written row by row, as CSV and as JSON at once: no more than one row of it is ever in memory."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from typing import IO

from lessons.export.packing.cells import Cell, as_text, json_line
from lessons.export.packing.shapes import Shape

# with a byte order mark: a CSV is mostly opened by a double click, and the commonest spreadsheet takes one
# without it for a national code page, so that an é or a ° is spoilt. Those who read it by program take either
ENCODING = "utf-8-sig"


def write_table(shape: Shape, rows: Iterable[Sequence[Cell]], flat: IO[str], nested: IO[str]) -> int:
    """Write the rows and return how many they were.

    flat    a text file opened with newline='' and ENCODING: gets the CSV. RFC 4180: commas, quotes doubled
            inside quotes, lines ended by CR LF, a header
    nested  a text file: gets an array of objects, one a line
    raises  ValueError if a row has not as many cells as the table columns
    """
    writer = csv.writer(flat, lineterminator="\r\n")
    writer.writerow([column.name for column in shape.in_csv])
    names, places, count = shape.names, shape.flat, 0
    nested.write("[")
    for row in rows:
        cells = list(row)
        nested.write((",\n" if count else "\n") + json_line(names, cells))
        writer.writerow([as_text(cells[place]) for place in places])
        count += 1
    nested.write("\n]\n" if count else "]\n")
    return count
