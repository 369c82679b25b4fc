"""Rows on doubts: how often twice the stated doubt holds what is true."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tests.rooms.listening import Told
from tests.rooms.rows.line import Cases, Line, note_of
from tests.rooms.rows.strokes import true_cv
from tests.rooms.truth import RoomTake

Found = dict[str, list[tuple[float, float]]]
HELD, FEW = (0.93, 0.99), 100
OF_NOTES = {
    "cents": "cents",
    "steadiness_cents": "sd_cents",
    "drift_cents_per_s": "drift_cents_per_s",
    "level_db": "level_db",
}
UNITS = {
    "cents": "cents",
    "steadiness_cents": "cents",
    "drift_cents_per_s": "cents/s",
    "level_db": "dB",
    "range_db": "dB",
    "rate_per_s": "/s",
}


def doubts(cases: Cases) -> Iterator[Line]:
    for condition in ("quiet tones", "restless tones"):
        found: Found = {}
        for takes, told in cases(condition):
            _of_tones(takes[0], told[0], found)
        yield from _coverage(condition, found)
    for condition in ("staccato dry", "staccato room", "staccato other room"):
        found = {}
        for takes, told in cases(condition):
            _of_strokes(takes[0], told[0], found)
        yield from _coverage(condition, found)


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


def _coverage(condition: str, found: Found) -> Iterator[Line]:
    """Of each figure: its errors, and how often k = 2 holds. Of a few, a whole miss more is allowed, and
    none tells nothing."""
    for name, pairs in found.items():
        error, u = np.array(pairs).T
        n, held = len(error), float(np.mean(np.abs(error) <= 2.0 * u))
        enough = round(n * (1.0 - held)) <= np.ceil(n * (1.0 - HELD[0]))
        figures = {
            "n": n,
            "bias": float(error.mean()),
            "median": float(np.median(np.abs(error))),
            "p95": float(np.percentile(np.abs(error), 95)),
            "held": held,
            "of its doubt": float(np.percentile(np.abs(error) / u, 95)),
        }
        met = bool(enough and (held <= HELD[1] or n < FEW))
        reached = f"{100 * held:.1f} % of {n}, bias {figures['bias']:+.4f}"
        must = f"k = 2 holds {100 * HELD[0]:.0f} to {100 * HELD[1]:.0f} %"
        yield Line(f"{condition}, {name}", must, reached, met, figures, UNITS.get(name, ""))
