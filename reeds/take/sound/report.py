"""Writes what was heard as plain values for JSON, no figure finer than its doubt allows to be read."""

from __future__ import annotations

import math
from typing import Any

from reeds.numbers.measured import Measured
from reeds.take.sound.heard import Heard, HeardNote, Item, beside


def as_json(heard: Heard) -> dict[str, Any]:
    """Return a dictionary of numbers, strings, lists and None; doubts are k = 1 and keep three digits."""
    return {
        "a4_hz": heard.a4_hz,
        "duration_s": round(heard.duration_s, 4),
        "notes": [_note(note) for note in heard.notes],
        "item": None if heard.item is None else _tidy(heard.item),
        "quality": {
            "snr_db": _to(heard.quality.snr_db, 1),
            "clipped": heard.quality.clipped,
            "noise_db": _to(heard.quality.noise_db, 1),
            "band_hz": [round(edge) for edge in heard.quality.band_hz],
        },
        "warnings": list(heard.warnings),
    }


def significant(value: float, digits: int = 3) -> float:
    """Return `value` rounded to so many significant digits; 0 stays 0."""
    if value == 0 or not math.isfinite(value):
        return value
    return round(value, digits - 1 - math.floor(math.log10(abs(value))))


def _note(note: HeardNote) -> dict[str, Any]:
    out: dict[str, Any] = {
        "start_s": _to(note.start_s, 4),
        "end_s": _to(note.end_s, 4),
        "sounded": note.sounded,
        "name": note.name,
        **_pair("cents", note.cents),
        **_pair("steadiness_cents", note.steadiness_cents),
        **_pair("drift_cents_per_s", note.drift_cents_per_s),
        **_pair("response_ms", note.response_ms),
        **_pair("level_db", note.level_db),
    }
    if not note.sounded:
        out["heard"] = note.heard
    return out


def _pair(name: str, measured: Measured | None) -> Item:
    """A figure and its doubt under two names."""
    if measured is None:
        return beside(name, None)
    return beside(name, Measured(_beside_u(measured), significant(measured.u)))


def _beside_u(measured: Measured) -> float:
    """Round to a hundredth of the doubt, so that rounding adds none."""
    if measured.u <= 0:
        return measured.value
    return round(measured.value, 2 - math.floor(math.log10(measured.u)))


def _to(value: float | None, decimals: int) -> float | None:
    return None if value is None else round(value, decimals)


def _tidy(value: object) -> object:
    if isinstance(value, dict):
        return {key: _tidy(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_tidy(inner) for inner in value]
    return significant(value, 7) if isinstance(value, float) else value
