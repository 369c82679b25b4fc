"""An XLSX workbook's first sheet that is not empty: what it shows, no formula computed."""

from __future__ import annotations

import datetime as dt
import io
import re
import warnings
import zipfile
import zlib
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import ParseError

from lessons.log.table.rows import MAX_COLUMNS, MAX_ROWS, TOO_MANY_ROWS, Row, Said, TableRefused
from reeds.numbers.words import gettext_noop as _

if TYPE_CHECKING:
    from openpyxl.worksheet._read_only import ReadOnlyWorksheet

UNREADABLE = _("This workbook cannot be read. Save it anew as XLSX, or as CSV.")
OTHER_BOOK = _("This is no XLSX workbook. Save the list as XLSX or CSV.")
OLD_BOOK = _("This is an older workbook, or one with a password. Save it as XLSX without one, or as CSV.")
SWOLLEN = _("This workbook holds far more than a list of reeds. Save the sheet alone, as CSV.")
NO_SHEET = _("Every sheet of this workbook is empty.")
FIRST_SHEET = _("Of its %(count)s sheets “%(sheet)s” was read, the first that is not empty.")
ONE_SHEET = _("The sheet “%(sheet)s” was read.")
NO_RESULTS = _(
    "It holds formulas without their results, and no formula is computed here: those cells count as empty. "
    "Open it in a spreadsheet and save it once more."
)

# unpacked, all parts together, the shared words, and how many parts: own choices, for memory's sake
MAX_UNPACKED = 100 * 1024 * 1024
MAX_SHARED = 24 * 1024 * 1024
MAX_PARTS = 2_000
# a sheet may count on over empty rows, which are gone through too
LAST_ROW = 4 * MAX_ROWS
_CHUNK, _OVERLAP = 1024 * 1024, 400
# a formula whose result was not saved with it: ECMA-376 part 1, 18.3.1.4 (c), 18.3.1.40 (f), 18.3.1.96 (v)
_NO_RESULT = re.compile(rb"(?:</f>|<f\b[^<>]*/>)\s*(?:<v\s*/>|<v>\s*</v>)?\s*</c>")

# what the reader raises on bytes that are no workbook, or not a whole one
_BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    ParseError,
    KeyError,
    ValueError,
    TypeError,
    AttributeError,
    IndexError,
    EOFError,
    OSError,
    OverflowError,
    NotImplementedError,
    RuntimeError,
)


def is_workbook(data: bytes) -> bool:
    """Whether the bytes begin as a zip archive does; raises TableRefused for a workbook of the older kind."""
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise TableRefused(OLD_BOOK)
    return data.startswith(b"PK\x03\x04")


def workbook(data: bytes) -> tuple[Iterator[Row], list[Said]]:
    """Return the rows of the first sheet that is not empty, hidden ones last, and what to say of it.

    A number is written with up to 15 digits, a day as 2026-03-04, a formula as what it gave when saved.

    Raises
    ------
    TableRefused
        For what is no workbook, for one that swells when it is unpacked, and while rows are gone through.
    """
    from openpyxl import load_workbook  # slow to import, and few pages need it

    _look_at_parts(data)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what it leaves out is of no matter here
            book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
            sheets = sorted(book.worksheets, key=lambda sheet: sheet.sheet_state != "visible")
            sheet = next((one for one in sheets if _is_filled(one)), None)
    except TableRefused:
        raise
    except _BROKEN:
        raise TableRefused(UNREADABLE) from None
    if sheet is None:
        raise TableRefused(NO_SHEET)
    said = [Said(FIRST_SHEET if len(sheets) > 1 else ONE_SHEET, {"sheet": sheet.title, "count": len(sheets)})]
    if _lacks_results(data, sheet._worksheet_path):
        said.append(Said(NO_RESULTS, {}))
    return _rows(sheet), said


def _lacks_results(data: bytes, part: str) -> bool:
    """Whether a formula of the sheet was saved without what it gave."""
    tail = b""
    with zipfile.ZipFile(io.BytesIO(data)).open(part) as sheet:
        while chunk := sheet.read(_CHUNK):
            if _NO_RESULT.search(tail + chunk):
                return True
            tail = chunk[-_OVERLAP:]
    return False


def _look_at_parts(data: bytes) -> None:
    """Refuse an archive that is no workbook, or that says it unpacks to more than memory should hold.

    What it says holds: no more than that is read of a part.
    """
    try:
        parts = {part.filename: part.file_size for part in zipfile.ZipFile(io.BytesIO(data)).infolist()}
    except _BROKEN:
        raise TableRefused(UNREADABLE) from None
    if "[Content_Types].xml" not in parts:
        raise TableRefused(OTHER_BOOK)
    shared = sum(size for name, size in parts.items() if name.lower().endswith("sharedstrings.xml"))
    if len(parts) > MAX_PARTS or sum(parts.values()) > MAX_UNPACKED or shared > MAX_SHARED:
        raise TableRefused(SWOLLEN)


def _is_filled(sheet: ReadOnlyWorksheet) -> bool:
    sheet.reset_dimensions()  # what it says of its own size need not be so
    return any(any(row.cells) for row in _cells(sheet))


def _rows(sheet: ReadOnlyWorksheet) -> Iterator[Row]:
    try:
        yield from _cells(sheet)
    except TableRefused:
        raise
    except _BROKEN:
        raise TableRefused(UNREADABLE) from None


def _cells(sheet: ReadOnlyWorksheet) -> Iterator[Row]:
    """Yield its rows, one column more than are allowed, so that too many are seen."""
    rows = sheet.iter_rows(max_col=MAX_COLUMNS + 1, values_only=True)
    for number in range(1, LAST_ROW + 2):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of a day that is none it warns, and gives a text
            values = next(rows, None)
        if values is None:
            return
        empty = values.count(None) == len(values)  # quick, for sheets that are empty for long
        yield Row(number, () if empty else tuple(["" if one is None else _written(one) for one in values]))
    raise TableRefused(TOO_MANY_ROWS, most=MAX_ROWS)


def _written(value: Any) -> str:  # noqa: ANN401  # whatever a cell holds
    """What stands in a cell, as one would type it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:.15g}"
    if isinstance(value, dt.datetime):
        return value.date().isoformat() if value.time() == dt.time() else value.isoformat(" ", "minutes")
    return str(value)
