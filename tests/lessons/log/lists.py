"""Lists of reeds as people keep them, for the tests of what becomes of them."""

from __future__ import annotations

import io
from dataclasses import replace

from lessons.log.actions import keep, write
from lessons.log.actions.write import Agreed
from lessons.log.found import Found
from lessons.log.models import ReedLog
from lessons.log.pages import LogPage
from lessons.log.table.reading import read_table
from studio.models import Member

NOT_YET = Agreed()
ALL = Agreed(leave_columns=True, leave_rows=True, again=True)
DAY = "2026-03-04"
GERMAN_STYLE = """\
No;Date;Cane;Shape;Staple;Staple length;Tie length (cm);Overall length;Airtight;Stage;Given up;Notes;Low notes
1;4.3.2026;Bag A;narrow;brass;46;7,25;71,0;yes;playing;;good one;5
2;5.3.2026;Bag A;narrow;brass;46;7,2;70,5;no;;leaks;;2
3;6.3.2026;Bag B;narrow;brass;46;7,3;70,5;no;tied;;;
"""


def upload(
    by: Member, text: str | bytes, name: str = "reeds.csv", student: Member | str | None = "self"
) -> ReedLog:
    """Return a list as the page keeps it; `student` None where a column says whose it is."""
    data = text if isinstance(text, bytes) else text.encode()
    return keep.keep(keep.Upload(name, data, by.studio, by, by if student == "self" else student))


def rows_of(data: bytes) -> list[tuple[str, ...]]:
    """Return the headings and the cells of every row."""
    table = read_table(data)
    return [table.headings, *(row.cells for row in table.rows)]


def said_of(data: bytes) -> str:
    """Return what is said of how a file was read."""
    return " ".join(sentence % params for sentence, params in read_table(data).said)


def workbook(*sheets: tuple[str, list[list[object]]], **more: object) -> bytes:
    """Return an XLSX workbook of these sheets."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets:
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def found(log):
    """Return what looking it over found."""
    return Found.from_json(log.found)


def wrong(log):
    """Return what is wrong with it, in sentences."""
    return [str(one) for one in LogPage(log).wrong]


def choose(log, **changed):
    """Choose otherwise of a list."""
    keep.choose(log, replace(log.chosen, **changed))
    log.refresh_from_db()


def brought(by, text, agreed=ALL, **given):
    """Return a list that was brought in."""
    return write.bring_in(upload(by, text, **given), agreed)
