"""One cell of a table on its way out: as text of a CSV, and as JSON has it."""

from __future__ import annotations

import datetime as dt
import json
import math
from typing import Any

from reeds.numbers.guard import guarded

Cell = str | int | float | bool | dt.datetime | dt.date | dict[str, Any] | list[Any] | None


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
