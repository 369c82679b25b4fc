"""Rows on staccato: how many strokes, how even, how many that failed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tests.rooms.rows.line import COUNT, Case, Cases, Line
from tests.rooms.truth import RoomTake


def staccato(cases: Cases) -> Iterator[Line]:
    for condition, least in (("staccato dry", 0.95), ("staccato room", 0.95), ("staccato other room", 0.95)):
        figures = _counted(cases(condition))
        met = figures["exact"] >= least * figures["n"]
        yield Line(condition, f"exact in {100 * least:.0f} %", _of_counts(figures), met, figures)
    for condition in ("staccato hall", "staccato other hall"):
        figures = _counted(cases(condition))
        met = figures["wrong unsaid"] <= 0.03 * figures["n"]
        yield Line(condition, "exact or said; wrong unsaid <= 3 %", _of_counts(figures), met, figures)
    for condition in ("staccato pink", "staccato babble"):
        figures = _counted(cases(condition))
        met = figures["wrong unsaid"] <= 0.1 * figures["n"]
        yield Line(condition + ", 10 dB", "exact or said in 90 %", _of_counts(figures), met, figures)


def _counted(cases: list[Case]) -> dict[str, float]:
    exact = unsaid = 0
    off: list[float] = []
    for takes, told in cases:
        right = told[0].item.get("count") == len(takes[0].played)
        exact += right
        unsaid += not right and not told[0].says(*COUNT)
        cv = told[0].item.get("interval_cv")
        if cv is not None:
            off.append(abs(cv - true_cv(takes[0])))
    middle = float(np.median(off)) if off else float("nan")
    right = len(cases) - unsaid
    return {"n": len(cases), "right": right, "exact": exact, "wrong unsaid": unsaid, "cv off": middle}


def _of_counts(figures: dict[str, float]) -> str:
    return (
        f"exact {figures['exact']:.0f}, wrong unsaid {figures['wrong unsaid']:.0f} "
        f"of {figures['n']:.0f}; "
        f"interval_cv off by {figures['cv off']:.3f} (median)"
    )


def true_cv(take: RoomTake) -> float:
    gaps = np.diff([played.start_s for played in take.played])
    return float(np.std(gaps, ddof=1) / np.mean(gaps))


def failures(cases: Cases) -> Iterator[Line]:
    for beside_it in ("metronome", "keys", "breaths", "voices"):
        found = cases(f"staccato {beside_it}")
        false = sum(told[0].item.get("failed", 0) > 0 and not told[0].says(*COUNT) for _, told in found)
        figures = {"takes": len(found), "false": false, **_counted(found)}
        reached = f"false failures in {false} of {len(found)}; count exact in {figures['exact']:.0f}"
        yield Line(beside_it, "false failures in <= 2 %", reached, false <= 0.02 * len(found), figures)
    found = cases("staccato failing")
    right = sum(told[0].item.get("failed") == len(takes[0].silent) for takes, told in found)
    figures = {"takes": len(found), "right": right}
    yield Line(
        "one or two strokes of air",
        "no bound (guard)",
        f"failures right in {right} of {len(found)}",
        None,
        figures,
    )
