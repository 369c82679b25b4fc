"""Every row by its name."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from tests.rooms.rows import doubts, notes, recording, strokes
from tests.rooms.rows.line import Cases, Line

ROWS: dict[str, Callable[[Cases], Iterator[Line]]] = {
    "beside": notes.beside,
    "other": notes.other_note,
    "lists": notes.lists,
    "moved": notes.moved,
    "attacks": notes.attacks,
    "staccato": strokes.staccato,
    "failures": strokes.failures,
    "band": recording.band,
    "tremolo": notes.tremolo,
    "crow": notes.crow,
    "nan": recording.no_number,
    "else": recording.what_else,
    "doubts": doubts.doubts,
}
