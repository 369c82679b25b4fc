"""Prints one table of all that `make accuracy` measured, photos and recordings, proposals first.

The other modules keep their rows in DATA_DIR/accuracy as they measure them; this one reads what is there,
prints it, writes it as table.json, and fails where a bound is not met or where the page 'How sure is it?'
says of a condition what no longer comes out. Every row names its day, so that an old one is seen to be old.

A module joins by `keep(source, row)` and its name in SOURCES. Of a row only `condition` and `met` (None: no
bound) are needed. One that measures has `n`, `bias`, `median`, `p95`, `unit`, `held` (share of truths within
twice the doubt) and `refused`; one that counts says it in words, `reached`, and `right` of `n` where the page
shows it.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import sys
from pathlib import Path
from typing import Any

from lessons.term.lookback.rates import share
from reeds.timeline import tried

Rows = dict[str, dict[str, Any]]
SOURCES = ("photos", "raytraced", "smaller", "kept_copy", "flaws", "rooms", "sound")
# by how much what the page says may be less than what comes out, as a share of it and plain
MAY_MOVE, LEAST = 0.5, 0.03
NAME, FIGURES = 66, 61
SIZES = {"bias": "+", "median": "", "p95": ""}
HEAD = (
    f"{'condition':<{NAME}}{'n':>5}{'bias':>9}{'median':>9}{'95th':>9} {'':<8}{'k=2':>6} {'(of all)':<9}"
    f"{'ref.':>5}  {'measured':<11}"
)


def folder() -> Path:
    """Return where the rows are kept, made where it is not there."""
    kept = Path(os.environ.get("DATA_DIR", "var")) / "accuracy"
    kept.mkdir(parents=True, exist_ok=True)
    return kept


def rows_of(source: str) -> Rows:
    """Return the rows that one module kept, by their condition."""
    file = folder() / f"{source}.json"
    found = json.loads(file.read_text()) if file.exists() else {}
    # what an older version kept of recordings was a list
    return found if isinstance(found, dict) else {}


def keep(source: str, row: dict[str, Any]) -> None:
    """Keep one row of a module's table by its condition, in place of an older one."""
    rows = rows_of(source)
    rows[row["condition"]] = {**row, "source": source, "day": dt.datetime.now(dt.UTC).date().isoformat()}
    (folder() / f"{source}.json").write_text(json.dumps(rows, indent=1, default=float))


def kept() -> Rows:
    """Return every row that is kept, by source and condition, proposals first."""
    found = [row for source in SOURCES for row in rows_of(source).values()]
    found.sort(key=lambda row: ("proposed" not in row["condition"], SOURCES.index(row["source"])))
    return {f"{row['source']} {row['condition']}": row for row in found}


def line(row: dict[str, Any]) -> str:
    """Return a row as printed: its figures, or in words what was counted."""
    name = f"{row['source'][:3]}  {row['condition']}"
    told = _figures(row) if row.get("median") is not None else f"  {row.get('reached', '')}"
    verdict = {True: "met", False: "NOT MET", None: "reported"}[row["met"]]
    return f"{name:<{NAME}}{told:<{FIGURES}}  {row['day']:<11}{verdict}"


def _figures(row: dict[str, Any]) -> str:
    sizes = "".join(f"{_short(row.get(name, 0.0), sign):>9}" for name, sign in SIZES.items())
    held = f"{row['held']:>6.0%} {of_all(row):<9}"
    return f"{row['n']:>5}{sizes} {row['unit']:<8}{held}{row.get('refused', 0):>5}"


def of_all(row: dict[str, Any]) -> str:
    """Return between what, in per cent, the share held of all such pictures or takes lies, by Wilson.

    It tells a doubt that is too wide (all of it above 99) from too few to tell (99 is within it).
    """
    held = share(round(row["held"] * row["n"]), row["n"])
    return f"({100 * held.low:.0f}-{100 * held.high:.0f})"


def _short(value: float, sign: str) -> str:
    return f"{value:{sign}.3f}" if abs(value) >= 0.001 or value == 0 else f"{value:{sign}.0e}"


def stale(rows: Rows) -> list[str]:
    """Return a sentence for each figure of the page that was measured worse since."""
    return [*_stale_photos(rows), *_stale_takes(rows)]


def _stale_photos(rows: Rows) -> list[str]:
    said = []
    for one in tried.PHOTOS:
        row = rows.get(f"raytraced {one.condition}")
        if row is None or row["n"] < one.pictures:
            continue
        for name, told, found in (("half", one.typical, row["median"]), ("19 in 20", one.most, row["p95"])):
            if found > told * (1 + MAY_MOVE) + LEAST:
                said.append(f"{one.condition}: the page says {told:.2f} for {name}, measured {found:.2f}")
    return said


def _stale_takes(rows: Rows) -> list[str]:
    said = []
    for one in tried.TAKES:
        row = rows.get(f"rooms {one.condition}")
        if row is None or row["n"] < one.takes:
            continue
        if row["right"] / row["n"] < one.right / one.takes - LEAST:
            told, found = f"{one.right} of {one.takes}", f"{row['right']} of {row['n']}"
            said.append(f"{one.condition}: the page says {told}, measured {found}")
    return said


def main() -> int:
    """Print and keep the table; 1 where a bound is not met or the page is no longer true."""
    rows = kept()
    sys.stdout.write(f"{HEAD}\n" + "".join(f"{line(row)}\n" for row in rows.values()))
    wrong = stale(rows)
    sys.stdout.write("".join(f"NO LONGER TRUE {sentence}\n" for sentence in wrong))
    (folder() / "table.json").write_text(json.dumps(list(rows.values()), indent=1, default=float))
    return 1 if wrong or any(row["met"] is False for row in rows.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
