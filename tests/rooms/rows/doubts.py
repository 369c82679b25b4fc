"""Rows on doubts: how often twice the stated doubt holds what is true."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tests.rooms.listening import Told
from tests.rooms.rows.line import Cases, Line, note_of
from tests.rooms.rows.strokes import true_cv
from tests.rooms.truth import RoomTake


def _share(part: float, whole: float) -> float:
    return 100.0 * part / whole if whole else float("nan")


OF_NOTES = {
    "cents": "cents",
    "steadiness_cents": "sd_cents",
    "drift_cents_per_s": "drift_cents_per_s",
    "level_db": "level_db",
}


def doubts(cases: Cases) -> Iterator[Line]:
    for condition in ("quiet tones", "restless tones"):
        inside: dict[str, list[bool]] = {}
        for takes, told in cases(condition):
            _hold(takes[0], told[0], inside)
        yield _coverage(condition, inside)
    inside = {}
    for takes, told in cases("staccato dry"):
        starts = np.array([played.start_s for played in takes[0].played])
        place = np.arange(len(starts))
        rate = 1.0 / np.polyfit(place, starts, 1)[0]
        if told[0].item.get("count") == len(starts):
            _within(told[0].item, "rate_per_s", float(rate), inside)
            _within(told[0].item, "interval_cv", true_cv(takes[0]), inside)
    yield _coverage("staccato dry", inside)


def _hold(take: RoomTake, told: Told, inside: dict[str, list[bool]]) -> None:
    for played in take.played:
        note = note_of(told, played)
        for name, true in OF_NOTES.items():
            if note is not None:
                _within(note, name, getattr(played, true), inside)
    longest = max(take.played, key=lambda played: played.end_s - played.start_s)
    _within(told.item, "range_db", longest.range_db, inside)


def _within(told: dict, name: str, true: float, inside: dict[str, list[bool]]) -> None:
    if told.get(name) is not None:
        inside.setdefault(name, []).append(
            abs(told[name] - true) <= 2.0 * told[f"{name}_standard_uncertainty"]
        )


def _coverage(condition: str, inside: dict[str, list[bool]]) -> Line:
    figures = {name: _share(sum(held), len(held)) for name, held in inside.items()}
    reached = ", ".join(f"{name} {held:.0f}" for name, held in figures.items())
    met = all(held >= 93.0 for held in figures.values())
    return Line(condition, "k = 2 holds 93 % or more of each", f"{reached} %", met, figures)
