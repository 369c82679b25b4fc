"""One cell of a table on its way out: as text of a CSV, and as JSON has it.

A spreadsheet runs a cell that begins with = + - @ (or one of a few more) as a formula. So a text that begins
so gets an apostrophe before it, and nothing else does: a number stays a number, -0.5 among them. What the
apostrophe hides is found again exactly: `unguarded(guarded(text)) == text` for every text.
"""

from __future__ import annotations

import datetime as dt
import json
import math
import re
from typing import Any

Cell = str | int | float | bool | dt.datetime | dt.date | dict[str, Any] | list[Any] | None

GUARD = "'"
# those that are known to begin a formula somewhere: the usual four, white space that some programs skip, and
# the wide letters that Japanese spreadsheets read alike. Common practice, from memory
STARTS = "=+-@\t\r\n＝＋－＠"
_RUNS = re.compile(f"{GUARD}*[{re.escape(STARTS)}]")
_GUARDED = re.compile(f"{GUARD}+[{re.escape(STARTS)}]")


def guarded(text: str) -> str:
    """Return a text that no spreadsheet runs: with an apostrophe before it where it begins like a formula.

    A text that begins with apostrophes and then like a formula gets one more, so that it can be told apart.
    """
    return GUARD + text if _RUNS.match(text) else text


def unguarded(text: str) -> str:
    """Return the text from which `guarded` made this one."""
    return text[len(GUARD) :] if _GUARDED.match(text) else text


def as_text(cell: Cell) -> str:
    """Return a cell as a CSV holds it, before it is quoted.

    Numbers are written with a point and as many digits as give the same number back; yes and no as true and
    false; a moment with its distance from UTC (ISO 8601); nothing as nothing.
    """
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        return repr(cell) if math.isfinite(cell) else ""
    if isinstance(cell, dt.date):  # a moment is a day too
        return cell.isoformat()
    return guarded(cell) if isinstance(cell, str) else str(cell)


def as_json(cell: Cell) -> object:
    """Return a cell as JSON holds it: texts as they are, moments and days as ISO 8601 has them."""
    if isinstance(cell, dt.date):
        return cell.isoformat()
    return None if isinstance(cell, float) and not math.isfinite(cell) else cell


def json_line(names: list[str], cells: list[Cell]) -> str:
    """Return one row as an object of JSON, on one line."""
    row = {name: as_json(cell) for name, cell in zip(names, cells, strict=True)}
    return json.dumps(row, ensure_ascii=False, separators=(", ", ": "))
