"""A line of the table, and how what was told is laid beside what is true."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from tests.rooms.listening import Told
from tests.rooms.truth import Played, RoomTake

# words by which a sentence is known that does not exist yet
ELSE = ("something else", "voice", "steady tone", "besides", "piano", "click")
COUNT = ("count",)
WHY = ("response cannot be told", "tell the response", "when air began", "too noisy")
BAND = ("telephone's band",)
LOWER, ORDER = ("lower than asked",), ("swapped", "another order", "other order")

Case = tuple[tuple[RoomTake, ...], tuple[Told, ...]]
Cases = Callable[[str], list[Case]]


@dataclass(frozen=True)
class Line:
    """One line of the table; `met` is None where there is no bound.

    `figures` join the table of `tests.accuracy.table`, which knows those of its own names.
    """

    condition: str
    must: str
    reached: str
    met: bool | None
    figures: dict[str, float] = field(default_factory=dict)
    unit: str = ""


def responses(take: RoomTake, told: Told) -> list[tuple[float, float]]:
    """(error in ms, nan where none is told; what is allowed) of each note that has a true answer."""
    out = []
    for played in take.played:
        note = note_of(told, played)
        if played.answer_ms is not None:
            value = None if note is None else note["response_ms"]
            error = np.nan if value is None else abs(value - played.answer_ms)
            out.append((float(error), max(15.0, 0.2 * played.answer_ms)))
    return out


def note_of(told: Told, played: Played) -> dict | None:
    """What was told of the middle of a note."""
    middle = 0.5 * (played.start_s + played.end_s)
    for note in told.notes:
        if note["sounded"] and note["start_s"] < middle < note["end_s"]:
            return note
    return None
