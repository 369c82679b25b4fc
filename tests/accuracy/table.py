"""Prints one table of all that `make accuracy` measured: bias, errors and what k = 2 holds, proposals first.

The other modules keep their rows in DATA_DIR/accuracy as they measure them; this one reads what is there,
prints it, writes it as table.json, and fails where a bound is not met or where the page 'How sure is it?'
says of a condition what no longer comes out. Every row names its day, so that an old one is seen to be old.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import sys
from pathlib import Path
from typing import Any

from reeds.timeline import tried

Rows = dict[str, dict[str, Any]]
# by how much what the page says may be less than what comes out, as a share of it and plain
MAY_MOVE, LEAST = 0.5, 0.03
HEAD = (
    f"{'condition':<56}{'n':>5}{'bias':>9}{'median':>8}{'95th':>8} {'':<4}{'k=2':>6}{'ref.':>6}  "
    f"{'measured':<11}"
)


def folder() -> Path:
    """Return where the rows are kept, made where it is not there."""
    kept = Path(os.environ.get("DATA_DIR", "var")) / "accuracy"
    kept.mkdir(parents=True, exist_ok=True)
    return kept


def keep(source: str, row: dict[str, Any]) -> None:
    """Keep one row of a module's table by its condition, in place of an older one."""
    file = folder() / f"{source}.json"
    rows: Rows = json.loads(file.read_text()) if file.exists() else {}
    rows[row["condition"]] = {**row, "source": source, "day": dt.datetime.now(dt.UTC).date().isoformat()}
    file.write_text(json.dumps(rows, indent=1, default=float))


def kept() -> Rows:
    """Return every row that is kept of photos, proposals first."""
    files = (folder() / f"{source}.json" for source in ("photos", "raytraced"))
    found = [row for file in files if file.exists() for row in json.loads(file.read_text()).values()]
    found.sort(key=lambda row: ("proposed" not in row["condition"], row["source"]))
    return {f"{row['source']} {row['condition']}": row for row in found}


def line(row: dict[str, Any]) -> str:
    """Return a row as printed."""
    name = f"{row['source'][:3]}  {row['condition']}"
    return (
        f"{name:<56}{row['n']:>5}{row['bias']:>+9.3f}{row['median']:>8.3f}{row['p95']:>8.3f} {row['unit']:<4}"
        f"{row['held']:>6.0%}{row['refused']:>6}  {row['day']:<11}{'met' if row['met'] else 'NOT MET'}"
    )


def takes_kept() -> Rows:
    """Return the newest rows kept of recordings by their condition."""
    files = sorted(folder().glob("rooms-report-*.json"), key=lambda file: file.stat().st_mtime)
    return {
        row["condition"]: row
        for file in files
        for rows in json.loads(file.read_text()).values()
        for row in rows
    }


def stale(photos: Rows, takes: Rows) -> list[str]:
    """Return a sentence for each figure of the page that was measured worse since."""
    said = []
    for one in tried.PHOTOS:
        row = photos.get(f"raytraced {one.condition}")
        if row is None or row["n"] < one.pictures:
            continue
        for name, told, found in (("half", one.typical, row["median"]), ("19 in 20", one.most, row["p95"])):
            if found > told * (1 + MAY_MOVE) + LEAST:
                said.append(f"{one.condition}: the page says {told:.2f} for {name}, measured {found:.2f}")
    for take in tried.TAKES:
        if take.right == take.takes and takes.get(take.condition, {}).get("met") is False:
            said.append(
                f"{take.condition}: {takes[take.condition]['reached']}, but the page says that it is met"
            )
    return said


def main() -> int:
    """Print and keep the table; 1 where a bound is not met or the page is no longer true."""
    rows = kept()
    sys.stdout.write(f"{HEAD}\n" + "".join(f"{line(row)}\n" for row in rows.values()))
    wrong = stale(rows, takes_kept())
    sys.stdout.write("".join(f"NO LONGER TRUE {sentence}\n" for sentence in wrong))
    (folder() / "table.json").write_text(json.dumps(list(rows.values()), indent=1, default=float))
    return 1 if wrong or not all(row["met"] for row in rows.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
