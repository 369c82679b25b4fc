"""Rows on doubts: how often twice the stated doubt holds what is true."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tests.rooms.listening import Told
from tests.rooms.rows.line import Cases, Line, note_of
from tests.rooms.rows.strokes import true_cv
from tests.rooms.truth import RoomTake

Found = dict[str, list[tuple[float, float]]]
LEAST = 93.0
OF_NOTES = {
    "cents": "cents",
    "steadiness_cents": "sd_cents",
    "drift_cents_per_s": "drift_cents_per_s",
    "level_db": "level_db",
}


def doubts(cases: Cases) -> Iterator[Line]:
    for condition in ("quiet tones", "restless tones"):
        found: Found = {}
        for takes, told in cases(condition):
            _of_tones(takes[0], told[0], found)
        yield _coverage(condition, found)
    for condition in ("staccato dry", "staccato room"):
        found = {}
        for takes, told in cases(condition):
            _of_strokes(takes[0], told[0], found)
        yield _coverage(condition, found)


def _of_strokes(take: RoomTake, told: Told, found: Found) -> None:
    """Pace and evenness, where all strokes were counted."""
    starts = np.array([played.start_s for played in take.played])
    if told.item.get("count") == len(starts):
        rate = 1.0 / np.polyfit(np.arange(len(starts)), starts, 1)[0]
        _note(told.item, "rate_per_s", float(rate), found)
        _note(told.item, "interval_cv", true_cv(take), found)


def _of_tones(take: RoomTake, told: Told, found: Found) -> None:
    for played in take.played:
        note = note_of(told, played)
        for name, true in OF_NOTES.items():
            if note is not None:
                _note(note, name, getattr(played, true), found)
    longest = max(take.played, key=lambda played: played.end_s - played.start_s)
    _note(told.item, "range_db", longest.range_db, found)


def _note(told: dict, name: str, true: float, found: Found) -> None:
    if told.get(name) is not None:
        found.setdefault(name, []).append((told[name] - true, told[f"{name}_standard_uncertainty"]))


def _coverage(condition: str, found: Found) -> Line:
    """Of each figure: in how many of a hundred k = 2 holds, its mean error, of how many."""
    figures: dict[str, float] = {}
    for name, pairs in found.items():
        error, u = np.array(pairs).T
        figures |= {
            f"{name} holds": 100.0 * float(np.mean(np.abs(error) <= 2.0 * u)),
            f"{name} bias": float(error.mean()),
            f"{name} n": float(len(error)),
        }
    each = [
        f"{name} {figures[f'{name} holds']:.0f} (bias {figures[f'{name} bias']:+.3f}, {len(found[name])})"
        for name in found
    ]
    # of a few the misses that are allowed are rounded up to a whole one
    missed = {name: round(len(found[name]) * (1.0 - figures[f"{name} holds"] / 100.0)) for name in found}
    met = all(missed[name] <= np.ceil(len(found[name]) * (1.0 - LEAST / 100.0)) for name in found)
    must = f"k = 2 holds {LEAST:.0f} % or more of each"
    return Line(condition, must, ", ".join(each) or "none told", bool(met) if found else None, figures)
