"""What was heard to JSON and back: the one format of the command's answer and of the rows that are kept.

A figure stands under its name and its standard uncertainty beside it under `NAME_standard_uncertainty`. What
is read back equals what was written; a key that is missing, as in rows of an earlier version, reads as
nothing told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict
from typing import Any

from reeds.numbers.measured import Measured
from reeds.take.sound.contours import Contours
from reeds.take.sound.heard import (
    STANDARD_A4_HZ,
    Also,
    Crow,
    CrowPitch,
    Heard,
    HeardNote,
    Item,
    LongTone,
    NotesSpoken,
    Quality,
    Staccato,
    Tuning,
)

Row = Mapping[str, Any]
_U = "_standard_uncertainty"
_NOTE_FIGURES = ("cents", "steadiness_cents", "drift_cents_per_s", "response_ms", "level_db")


def heard_to_json(heard: Heard) -> dict[str, Any]:
    """Return numbers, strings, lists and None only."""
    quality = heard.quality
    return {
        "a4_hz": heard.a4_hz,
        "duration_s": heard.duration_s,
        "notes": [_note(note) for note in heard.notes],
        "item": None if heard.item is None else _item(heard.item),
        "quality": {
            "snr_db": quality.snr_db,
            "clipped": quality.clipped,
            "noise_db": quality.noise_db,
            "band_hz": None if quality.band_hz is None else list(quality.band_hz),
        },
        "warnings": list(heard.warnings),
        "also": [asdict(also) for also in heard.also],
        "moved_cents": heard.moved_cents,
    }


def heard_from_json(row: Row, figures: Iterable[str] = _NOTE_FIGURES) -> Heard:
    """Return what `heard_to_json` wrote; of an empty row, a `Heard` that tells nothing.

    `figures` are those of each note that are wanted; the others read as not told.
    """
    return Heard(
        row.get("a4_hz") or STANDARD_A4_HZ,
        row.get("duration_s") or 0.0,
        tuple(_read_note(note, figures) for note in row.get("notes") or ()),
        _read_item(row.get("item") or {}),
        _read_quality(row.get("quality") or {}),
        tuple(row.get("warnings") or ()),
        tuple(Also(**also) for also in row.get("also") or ()),
        row.get("moved_cents"),
    )


def gist_from_json(row: Row) -> tuple[Item | None, tuple[str, ...]]:
    """Return of what `heard_to_json` wrote only what the item as a whole gave, and the warnings."""
    return _read_item(row.get("item") or {}), tuple(row.get("warnings") or ())


def contours_to_json(contours: Contours) -> dict[str, Any]:
    """Return numbers, lists and None only."""
    return {"step_s": contours.step_s, "hz": list(contours.hz), "level_db": list(contours.level_db)}


def contours_from_json(row: Row) -> Contours:
    """Return what `contours_to_json` wrote; of an empty row, contours without a point."""
    return Contours(row.get("step_s") or 1.0, tuple(row.get("hz") or ()), tuple(row.get("level_db") or ()))


def _figure(name: str, measured: Measured | None) -> dict[str, float | None]:
    value, u = (None, None) if measured is None else (measured.value, measured.u)
    return {name: value, name + _U: u}


def _read(row: Row, name: str) -> Measured | None:
    value = row.get(name)
    return None if value is None else Measured(value, row.get(name + _U) or 0.0)


def _note(note: HeardNote) -> dict[str, Any]:
    row: dict[str, Any] = {
        "start_s": note.start_s,
        "end_s": note.end_s,
        "sounded": note.sounded,
        "name": note.name,
    }
    for name in _NOTE_FIGURES:
        row |= _figure(name, getattr(note, name))
    # of a note that sounded nothing else was heard in its place
    return row if note.sounded else row | {"heard": note.heard}


def _read_note(row: Row, figures: Iterable[str]) -> HeardNote:
    return HeardNote(
        row.get("start_s"),
        row.get("end_s"),
        bool(row.get("sounded")),
        row.get("name"),
        heard=row.get("heard"),
        **{name: _read(row, name) for name in figures},
    )


def _read_quality(row: Row) -> Quality:
    low_hz, high_hz = row.get("band_hz") or (None, None)
    band_hz = None if low_hz is None or high_hz is None else (low_hz, high_hz)
    return Quality(row.get("snr_db"), bool(row.get("clipped")), row.get("noise_db"), band_hz)


def _item(item: Item) -> dict[str, Any]:
    match item:
        case NotesSpoken():
            return {"asked": item.asked, "spoke": item.spoke}
        case Staccato():
            figures = _figure("rate_per_s", item.rate_per_s) | _figure("interval_cv", item.interval_cv)
            return {"count": item.count, **figures, "failed": item.failed}
        case LongTone():
            return {**_figure("range_db", item.range_db)}
        case Tuning():
            return {**_figure("cents", item.cents)}
        case Crow():
            return {"pitches": [_pitch(pitch) for pitch in item.pitches], "octave": item.octave}


def _pitch(pitch: CrowPitch) -> dict[str, Any]:
    return {"hz": pitch.hz, "name": pitch.name, **_figure("cents", pitch.cents)}


def _read_item(row: Row) -> Item | None:
    """Which item it is, its keys say."""
    return next((read(row) for key, read in _READERS.items() if key in row), None)


def _read_crow(row: Row) -> Crow:
    pitches = [(pitch, _read(pitch, "cents")) for pitch in row.get("pitches") or ()]
    named = [CrowPitch(p["hz"], p["name"], cents) for p, cents in pitches if cents is not None]
    return Crow(tuple(named), row.get("octave"))


_READERS: dict[str, Callable[[Row], Item]] = {
    "asked": lambda row: NotesSpoken(row["asked"] or 0, row.get("spoke") or 0),
    "count": lambda row: Staccato(
        row["count"] or 0, _read(row, "rate_per_s"), _read(row, "interval_cv"), row.get("failed") or 0
    ),
    "range_db": lambda row: LongTone(_read(row, "range_db")),
    "cents": lambda row: Tuning(_read(row, "cents")),
    "pitches": _read_crow,
}
