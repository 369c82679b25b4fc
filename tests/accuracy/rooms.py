"""Measures what the listening tells of takes from real rooms and real players, row by row of a table.

Run `python -m tests.accuracy.rooms 20 report`: so many takes a condition, of the seeds to `fix` constants on
or of those to `report`; a second number leaves out so many of the first ones, which somebody may have looked
at; then names of rows to measure only those; `resume` prints rows measured before with the same numbers from
the JSON beside the table (DATA_DIR/accuracy). A take needs about a second.
What is of `report` joins the table of `tests.accuracy.table`. The takes come from `tests.rooms`, which shares
nothing with `tests.simulate_sound`. The exit status is 1 where a line with a bound falls short.
"""

from __future__ import annotations

import json
import os
import sys
import time
from dataclasses import asdict, replace
from functools import cache, partial
from pathlib import Path

import django
import numpy as np

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
django.setup()

from tests.accuracy import table  # noqa: E402
from tests.rooms import tools  # noqa: E402
from tests.rooms.conditions import HALVES, all_of  # noqa: E402
from tests.rooms.listening import listened  # noqa: E402
from tests.rooms.rows.line import Case, Cases, Line  # noqa: E402
from tests.rooms.rows.table import ROWS  # noqa: E402

USUAL = 20
spent_s = {"making": 0.0, "listening": 0.0, "takes": 0.0, "sound": 0.0}


@cache
def cases(condition: str, half: str, count: int, first: int = 0) -> list[Case]:
    """The takes of a condition and what was told of them, measured once for all rows that ask."""
    out, began = [], time.perf_counter()
    for takes in all_of(condition, half, count, first):
        made = time.perf_counter()
        told = tuple(listened(take) for take in takes)
        spent_s["making"] += made - began
        spent_s["takes"] += len(takes)
        spent_s["sound"] += sum(len(take.samples) / take.rate for take in takes)
        began = time.perf_counter()
        spent_s["listening"] += began - made
        # the truth is kept, the samples are not: thousands of takes would not fit
        out.append((tuple(replace(take, samples=np.zeros(0)) for take in takes), told))
    return out


def shown(row: str, line: Line) -> str:
    verdict = {True: "met", False: "NOT met", None: "reported"}[line.met]
    return f"| {row} | {line.condition} | {line.must} | {line.reached} | {verdict} |\n"


def measured(row: str, takes_of: Cases, kept: dict[str, list[dict]], resume: bool) -> list[Line]:
    if resume and row in kept:
        return [Line(**line) for line in kept[row]]
    return list(ROWS[row](takes_of))


def joined(row: str, lines: list[Line]) -> None:
    """Keep the lines for the one table of photos and recordings."""
    for line in lines:
        told = {"must": line.must, "reached": line.reached, "met": line.met, "unit": line.unit}
        table.keep("rooms", {"condition": f"{row}: {line.condition}", **told, **line.figures})


def json_of(half: str, count: int, first: int) -> Path:
    return table.folder() / f"rooms-{half}-{count}{f'-from-{first}' if first else ''}.json"


def main(words: list[str]) -> int:
    """Print the table and keep it as JSON after every row; 1 where a line with a bound falls short."""
    numbers = [int(word) for word in words if word.isdigit()]
    count, first = (*numbers, *(USUAL, 0)[len(numbers) :])
    half = next((word for word in words if word in HALVES), "report")
    tools.require()
    file = json_of(half, count, first)
    kept = json.loads(file.read_text()) if file.exists() else {}
    short = 0
    sys.stdout.write(f"{count} takes a condition, seeds to {half} without the first {first}\n\n")
    sys.stdout.write("| row | condition | must | reached | |\n|---|---|---|---|---|\n")
    for row in [word for word in words if word in ROWS] or ROWS:
        lines = measured(row, partial(cases, half=half, count=count, first=first), kept, "resume" in words)
        kept[row] = [asdict(line) for line in lines]
        if half == "report":
            joined(row, lines)
        file.write_text(json.dumps(kept, indent=1, default=float))
        short += sum(line.met is False for line in lines)
        sys.stdout.write("".join(shown(row, line) for line in lines))
        sys.stdout.flush()
    takes = max(1.0, spent_s["takes"])
    sys.stdout.write(
        f"\n{spent_s['takes']:.0f} takes of {spent_s['sound'] / takes:.1f} s; a take is made in "
        f"{spent_s['making'] / takes:.2f} s and heard in {spent_s['listening'] / takes:.2f} s\n"
    )
    return min(short, 1)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
