"""Prints how lengths and openings come out of ray-traced photos, and fails where a bound is not kept.

`python -m tests.accuracy.raytraced [N [FIRST]] [HALF] [PART ...]`: N pictures a condition (default 24) of the
half `fix` or `report` (default report), without the first FIRST, which somebody may have looked at; parts
card, bent, across, beside, factor, opening, refused (default all).
Constants are set on `fix` alone and reported on `report`. Pictures are drawn by POV-Ray once, ten to forty
seconds each, and kept in the folder RAYTRACED_CACHE (or one of the system's temporary folder); the table
is kept there as JSON too, and the rows of `report` for `tests.accuracy.table`.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tests.accuracy import table
from tests.raytraced import lying, opening, pov, project
from tests.raytraced.lying import Conditions
from tests.raytraced.shot import HALVES, Shot, Truth

SCORED = "tie_length"
HELD = (0.93, 0.99)
PARTS = ("card", "bent", "across", "beside", "factor", "opening", "refused")
NEAR_MM = 0.3
OFF_PRINT = 0.01
USUAL = (24, 0)
# a bias is bounded of flat cards with nothing across: the others are fewer, and their doubt says so
BOUNDS, NO_BIAS = (0.05, 0.15, 0.45), (None, 0.15, 0.45)
UNDRAWN = 4  # so many times as many where no picture has to be drawn


@dataclass
class Row:
    """One line of the table: errors, what k = 2 was said to be, what was refused or broke down.

    `must` has the bounds on bias, median, 95th; `refusals` the share that may be refused.
    """

    name: str
    must: tuple[float | None, float | None, float | None] = (None, None, None)
    unit: str = "mm"
    held: tuple[float, float] | None = HELD
    refusals: float = 1.0
    errors: list[float] = field(default_factory=list)
    doubts: list[float] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)

    def figures(self) -> dict[str, float]:
        """Return bias, median, 95th and what k = 2 holds, over those that were measured."""
        if not self.errors:
            return dict.fromkeys(("bias", "median", "p95", "held"), float("nan"))
        e, u = np.array(self.errors), np.array(self.doubts)
        return {
            "bias": float(e.mean()),
            "median": float(np.median(np.abs(e))),
            "p95": float(np.percentile(np.abs(e), 95)),
            "held": float((np.abs(e) <= 2 * u).mean()),
        }

    def met(self) -> bool:
        """Tell whether every bound is kept."""
        f = self.figures()
        sizes = (abs(f["bias"]), f["median"], f["p95"])
        fine = all(b is None or v <= b for v, b in zip(sizes, self.must, strict=True))
        if self.held is not None:
            fine = fine and f["held"] >= self.held[0]
            # so few cannot tell 100 % from 99 %
            fine = fine and (f["held"] <= self.held[1] or len(self.errors) < 100)
        share = len(self.refused) / max(1, len(self.errors) + len(self.refused))
        return fine and not self.failed and share <= self.refusals

    def line(self) -> str:
        """Return the row as printed."""
        f = self.figures()
        bound = "/".join("-" if b is None else f"{b:g}" for b in self.must)
        return (
            f"{self.name:<56}{len(self.errors):>4}{f['bias']:>+8.3f}{f['median']:>8.3f}{f['p95']:>8.3f} "
            f"{self.unit:<3}{bound:>14}{f['held']:>7.0%}{len(self.refused):>5}{len(self.failed):>5}  "
            f"{'met' if self.met() else 'NOT MET'}"
        )

    def plain(self) -> dict[str, object]:
        """Return the row as plain JSON types."""
        more = {"n": len(self.errors), "refused": self.refused, "failed": self.failed}
        return {"condition": self.name, "must": self.must, "met": self.met(), **self.figures(), **more}


HEAD = (
    f"{'condition':<56}{'n':>4}{'bias':>8}{'median':>8}{'95th':>8} {'':<3}"
    f"{'must':>14}{'k=2':>7}{'ref.':>5}{'fail':>5}"
)


@dataclass
class Share:
    """A line of the table that counts: so many of so many, at least this share."""

    name: str
    least: float
    good: list[bool] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    def met(self) -> bool:
        """Tell whether the bound is kept."""
        return bool(self.good) and float(np.mean(self.good)) >= self.least

    def line(self) -> str:
        """Return the line as printed."""
        share = float(np.mean(self.good)) if self.good else float("nan")
        text = f"  {self.name:<54}{len(self.good):>4}{share:>8.0%} of them, must be {self.least:.0%}"
        said = f"\n      {' '.join(self.said)}" if self.said else ""
        return f"{text}  {'met' if self.met() else 'NOT MET'}{said}"

    def plain(self) -> dict[str, object]:
        """Return the line as plain JSON types."""
        reached = f"{sum(self.good)} of {len(self.good)}, must be {self.least:.0%}"
        plain = {"condition": self.name, "n": len(self.good), "reached": reached, "met": self.met()}
        return {**plain, "good": self.good, "said": self.said}


def attempt(row: Row, shot: Shot, work: Callable[..., None], *given: Any) -> None:
    """Run a measurement; a refusal and a breakdown are noted, not raised."""
    try:
        work(*given)
    except project.Refused as refusal:
        row.refused.append(f"{shot.seed[-1]}: {refusal}")
    except Exception as error:  # a breakdown is a finding here
        row.failed.append(f"{shot.seed[-1]}: {type(error).__name__} {error}"[:200])


def score(row: Row, truth: Truth, measure: Callable[..., dict[str, project.Measured]], *given: Any) -> None:
    """Measure and add the error of the scored length; where it is not told the picture counts as refused."""
    found = measure(*given)
    if SCORED not in found:
        row.refused.append("not told")
        return
    row.errors.append(found[SCORED].value - truth.lengths[SCORED])
    row.doubts.append(found[SCORED].u)


def off_along(found: dict[str, tuple[float, float]], truth: Truth) -> dict[str, float]:
    """Return how far each proposal lies from what an eye sees, mm along the axis."""
    foot, tip = (np.array(truth.axis[name]) for name in ("staple_foot", "tip"))
    way = (tip - foot) / np.linalg.norm(tip - foot)
    return {
        name: float((np.array(spot) - truth.seen[name]) @ way * mm_a_px(truth))
        for name, spot in found.items()
        if name in truth.seen
    }


def mm_a_px(truth: Truth) -> float:
    """Return how many mm along the reed a pixel takes."""
    foot, tip = (np.array(truth.axis[name]) for name in ("staple_foot", "tip"))
    return float(truth.lengths["tie_length"] / np.linalg.norm(tip - foot))


def shots(part: int, half: str, numbers: range, conditions: Conditions) -> Iterator[tuple[Shot, bytes]]:
    """Yield pictures of one condition, taken."""
    for number in numbers:
        shot = lying.shot(part, half, number, conditions)
        yield shot, shot.take()[0]


def fewer(numbers: range, share: int) -> range:
    """Return every so many fewer of them, at least one."""
    return range(numbers.start, numbers.start + max(1, -(-len(numbers) // share)))


def by_every_way(
    title: str, part: int, half: str, numbers: range, cond: Conditions, *, bent: bool = False
) -> list:
    """Measure by proposals, by what an eye sees, clicked, and (for comparison) by the axis itself."""
    fine = {"must": NO_BIAS, "refusals": 1.0} if bent else {"must": BOUNDS, "refusals": 0.15}
    rows = [Row(f"{title}, {how}", **fine) for how in ("proposed", "seen edge, exact", "seen edge, +-0.5 px")]
    rows.append(Row(f"{title}, points of the axis (to compare)", held=None))
    ends = [Landmark(f"{title}, proposed {name}", name) for name in ("staple_foot", "thread_end", "tip")]
    for shot, data in shots(part, half, numbers, cond):
        t = shot.truth
        rng = np.random.default_rng([*shot.seed, 2])
        clicked = {k: tuple(np.add(p, rng.normal(0, 0.5, 2)).tolist()) for k, p in t.seen.items()}
        for row, points in zip(rows, (None, t.seen, clicked, t.axis), strict=True):
            attempt(row, shot, score, row, t, project.lengths, data, points, t.factor)
        attempt(Row(""), shot, _ends, ends, data, t)
    return [*rows, *(line for end in ends for line in (end.near, end.row))]


class Landmark:
    """Two lines of one proposed landmark: how often it is near enough, and whether its doubt holds."""

    def __init__(self, title: str, name: str) -> None:
        self.name = name
        self.near = Share(f"{title} within {NEAR_MM} mm", 0.9)
        self.row = Row(f"{title}, along the reed")

    def add(self, off: dict[str, float], u_mm: dict[str, float]) -> None:
        """Add one picture; where it was not proposed it is not near."""
        there = self.name in off
        self.near.good.append(there and abs(off[self.name]) <= NEAR_MM)
        self.near.said.append(f"{off[self.name]:+.2f}" if there else "null")
        if there:
            self.row.errors.append(off[self.name])
            self.row.doubts.append(u_mm[self.name])


def _ends(ends: list[Landmark], data: bytes, truth: Truth) -> None:
    found = project.find_points(data, truth.factor)
    off, scale = off_along(found.points, truth), mm_a_px(truth)
    for end in ends:
        end.add(off, {name: u * scale for name, u in found.u_px.items()})


def card(half: str, numbers: range) -> list:
    """A flat card, its factor known."""
    return by_every_way("card", 1, half, numbers, Conditions())


def bent(half: str, numbers: range) -> list:
    """A card that bends by 2 to 5 mm."""
    return by_every_way("card bent 2-5 mm", 2, half, numbers, Conditions(bent=True), bent=True)


def factor(half: str, numbers: range) -> list:
    """Prints of 97 to 103 %, nothing said of it: the doubt holds, and lengths by caliper show it."""
    row = Row("print 97-103 %, factor not stated, seen edge exact", (None, None, None))
    off = Share(f"print off by over {OFF_PRINT:.0%}, two lengths by caliper: it is suspected", 0.95)
    true = Share("print true, two lengths by caliper: it is not suspected", 0.95)
    for shot, data in shots(3, half, numbers, Conditions(factor=(0.97, 1.03))):
        attempt(row, shot, score, row, shot.truth, project.lengths, data, shot.truth.seen, None)
        if abs(shot.truth.factor - 1) > OFF_PRINT:
            attempt(Row(""), shot, _suspected, off, data, shot.truth)
    for shot, data in shots(1, half, numbers, Conditions()):
        attempt(Row(""), shot, _suspected, true, data, shot.truth, False)
    return [row, off, true]


def _suspected(share: Share, data: bytes, truth: Truth, rightly: bool = True) -> None:
    found = project.lengths(data, truth.seen, None)
    share.good.append(project.print_suspected(found, truth.lengths) is rightly)


def across(half: str, numbers: range) -> list:
    """Wire, hair, fishskin across the blades: the bark's end is told right or not at all."""
    rows = []
    for number, what in enumerate(("wire", "hair", "fishskin")):
        row = Row(f"{what} across the blades, proposed", NO_BIAS, refusals=0.15)
        share = Share(f"{what}: scrape_start null or within 1 mm", 1.0)
        told = Share(f"{what}: thread_end null or within 1 mm", 1.0)
        for shot, data in shots(10 + number, half, fewer(numbers, 3), Conditions(across=what)):
            t = shot.truth
            attempt(row, shot, score, row, t, project.lengths, data, None, t.factor)
            attempt(Row(""), shot, _told, share, told, data, t)
        rows += [row, share, told]
    return rows


def _told(scrape: Share, thread: Share, data: bytes, truth: Truth) -> None:
    off = off_along(project.find_points(data, truth.factor).points, truth)
    for share, name in ((scrape, "scrape_start"), (thread, "thread_end")):
        share.good.append(abs(off.get(name, 0.0)) <= 1.0)
        share.said.append(f"{off[name]:+.1f}" if name in off else "null")


def beside(half: str, numbers: range) -> list:
    """A ruler or an ID-1 card beside the reed, the eye's points clicked: not drawn, for nothing is sought."""
    level = {"card": "none", "tilt": (0, 10), "distance": ((250, 350),)}
    rows = [
        # two clicks cannot tell the tilt, so the doubt covers all of it and holds more than it must
        Row("ruler, its middle beside the reed's, level, seen edge", (None, None, 0.6), held=(0.93, 1.0)),
        Row("ID-1 card, level, seen edge", (None, None, 0.6)),
    ]
    for number, (row, what) in enumerate(zip(rows, ("ruler", "id1"), strict=True)):
        for one in range(numbers.start, numbers.start + UNDRAWN * len(numbers)):
            shot = lying.shot(20 + number, half, one, Conditions(beside=what, **level))
            focal = None if shot.focal_35mm is None else round(shot.focal_35mm)
            given = (shot.camera.size, focal, shot.truth.seen, shot.truth.beside)
            attempt(row, shot, score, row, shot.truth, project.lengths_beside, *given)
    return rows


def openings(half: str, numbers: range) -> list:
    """Openings tip-on; the tip's width known."""
    rows = [
        Row("opening, height over width, share of itself", (None, 0.03, 0.08), "", refusals=0.15),
        Row("opening, unevenness", (None, None, 0.05), "", refusals=0.15),
        Row("opening, area, share of itself", (None, None, None), "", refusals=0.15),
    ]
    for number in numbers:
        shot = opening.shot(30, half, number)
        data, _ = shot.take()
        attempt(rows[0], shot, _opening, rows, data, shot.truth)
    for row in rows[1:]:
        row.refused, row.failed = rows[0].refused, rows[0].failed
    return rows


def _opening(rows: list[Row], data: bytes, truth: opening.OpeningTruth) -> None:
    found = project.opening(data, truth.width)
    triples = (
        (found.height_ratio, truth.ratio, truth.ratio),
        (found.unevenness, truth.unevenness, 1.0),
        (found.area_mm2, truth.area, truth.area),
    )
    for row, (one, true, scale) in zip(rows, triples, strict=True):
        row.errors.append((one.value - true) / scale)
        row.doubts.append(one.u / scale)


# what must be said, by a word of the sentence in either case; the wordings are the project's
UNFIT = {
    "other": (Conditions(card="other"), ("our card", "from here", "not those")),
    "two": (Conditions(card="two"), ("two", "more than one")),
    "blur": (Conditions(spoil="blur"), ("blur", "sharp")),
    "dark": (Conditions(spoil="dark"), ("dark", "light")),
    "no reed": (Conditions(reed=False), ("no reed", "reed lies off")),
    "no card": (Conditions(card="none", beside="id1"), ("whole card", "no card")),
}


def refused(half: str, numbers: range) -> list:
    """What must be turned down with the right sentence; two cards may be measured, if rightly."""
    lines = []
    for number, (name, (cond, words)) in enumerate(UNFIT.items()):
        share = Share(f"refused rightly: {name}", 1.0)
        for _, data in shots(40 + number, half, fewer(numbers, 6), cond):
            said = _said(data)
            share.good.append(any(word in said.lower() for word in words))
            share.said.append(f"[{said or 'measured'}]")
        lines.append(share)
    return lines


def _said(data: bytes) -> str:
    try:
        return project.sentence_of(data)
    except Exception as error:  # a breakdown is a finding here
        return f"BREAKDOWN {type(error).__name__}: {error}"[:160]


RUN = dict(zip(PARTS, (card, bent, across, beside, factor, openings, refused), strict=True))


def keep(line: Row | Share) -> None:
    """Keep a line for the one table, where there was anything to measure or count."""
    if isinstance(line, Share) and line.good:
        table.keep("raytraced", line.plain())
    if isinstance(line, Row) and line.errors:
        met = None if "to compare" in line.name else line.met()
        counts = {"unit": line.unit, "refused": len(line.refused), "met": met}
        table.keep("raytraced", {**line.plain(), **counts})


def main(*words: str) -> int:
    """Print the table, keep it as JSON, and return 1 where a bound is not kept."""
    given = [int(word) for word in words if word.isdigit()]
    count, first = (*given, *USUAL[len(given) :])
    half = next((w for w in words if w in HALVES), "report")
    if not pov.installed():
        sys.stdout.write(pov.MISSING + "\n")
        return 1
    sys.stdout.write(
        f"Ray-traced photos, {count} a condition, half '{half}'. Scored: the tie length.\n{HEAD}\n"
    )
    lines = []
    for part in [w for w in words if w in PARTS] or list(PARTS):
        for line in RUN[part](half, range(first, first + count)):
            lines.append(line)
            if half == "report":
                keep(line)
            sys.stdout.write(line.line() + "\n")
            sys.stdout.flush()
    kept = pov.folder() / f"table-{half}.json"
    kept.write_text(json.dumps([line.plain() for line in lines], indent=1, default=float))
    fine = all(line.met() for line in lines if "to compare" not in line.name)
    sys.stdout.write(f"{'All met.' if fine else 'NOT all met.'} Kept as {kept.name} beside the pictures.\n")
    return 0 if fine else 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
