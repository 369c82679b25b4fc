"""THE way in which a file becomes a table, for page and shell: CSV or XLSX, known by its first bytes."""

from __future__ import annotations

from lessons.log.table.delimited import delimited
from lessons.log.table.encoding import decoded
from lessons.log.table.rows import EMPTY, MAX_BYTES, TOO_LARGE, Table, TableRefused, table_of
from lessons.log.table.workbook import is_workbook, workbook


def read_table(data: bytes) -> Table:
    """Return the table of a file: an XLSX workbook's, else that of text with delimiters.

    Raises
    ------
    TableRefused
        With a sentence, for a file that is empty, too large, or neither; see `Table` for what comes later.
    """
    if not data.strip():
        raise TableRefused(EMPTY)
    if len(data) > MAX_BYTES:
        raise TableRefused(TOO_LARGE, most=MAX_BYTES // (1024 * 1024))
    if is_workbook(data):
        rows, said = workbook(data)
        return table_of(rows, said)
    text, told = decoded(data)
    rows, said = delimited(text)
    return table_of(rows, [*told, *said])
