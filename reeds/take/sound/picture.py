"""Where everything in the picture of a take lies: pitch in cents over level over time, notes named.

Convention: x and y are in units of the picture (`WIDTH` wide), y downwards; times in seconds from the first
sample, pitch in cents against the note that was heard or asked for, level in dB re full scale.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from reeds.numbers.notes import cents_from_note, nearest_note, parse_note

WIDTH, HEIGHT = 400, 190
LEFT, RIGHT = 34, 392
NAMES_Y = 12
PITCH_TOP, PITCH_BOTTOM = 20, 120
LEVEL_TOP, LEVEL_BOTTOM = 130, 172
QUIETEST_DB = -70.0
USUAL_CENTS, MOST_CENTS = 50.0, 100.0
NAME_ROOM = 22.0
_STEPS_S = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0)
_MOST_TICKS = 7


@dataclass(frozen=True)
class Scale:
    """How much the picture shows: so many seconds across, so many cents up and down from the middle."""

    seconds: float
    cents: float = USUAL_CENTS

    def x(self, t_s: float) -> float:
        """Where a moment lies; moments outside lie on the edge."""
        share = min(1.0, max(0.0, t_s / self.seconds))
        return round(LEFT + share * (RIGHT - LEFT), 2)

    def y(self, cents: float) -> float:
        """Where a pitch lies; pitches outside lie on the edge."""
        within = min(self.cents, max(-self.cents, cents))
        middle = (PITCH_TOP + PITCH_BOTTOM) / 2
        return round(middle - within / self.cents * (PITCH_BOTTOM - PITCH_TOP) / 2, 2)


@dataclass(frozen=True)
class Tick:
    """A line with its number."""

    at: float
    value: float


@dataclass(frozen=True)
class NoteShown:
    """One note: from where to where, its name ('' where there is no room for it), whether it spoke."""

    left: float
    width: float
    name: str
    sounded: bool


@dataclass(frozen=True)
class Band:
    """The limits, from the upper edge down."""

    top: float
    height: float


@dataclass(frozen=True)
class Picture:
    """Everything a template needs to draw one take."""

    scale: Scale
    duration_s: float
    pitch: list[str]
    level: str
    notes: list[NoteShown]
    cents_ticks: list[Tick]
    time_ticks: list[Tick]
    band: Band | None = None

    width, height = WIDTH, HEIGHT
    left, right = LEFT, RIGHT
    pitch_top, pitch_bottom = PITCH_TOP, PITCH_BOTTOM
    level_top, level_bottom = LEVEL_TOP, LEVEL_BOTTOM
    names_y = NAMES_Y
    plot_width = RIGHT - LEFT
    plot_height = LEVEL_BOTTOM - PITCH_TOP


def scale_of(results: Iterable[Mapping[str, Any]]) -> Scale:
    """Return the one scale at which takes can be laid under each other.

    Parameters
    ----------
    results : iterable of mapping
        From `reeds.take.sound.report.as_json`, at least ``duration_s`` and ``notes``.

    Returns
    -------
    Scale
        As long as the longest; 50 cents up and down, 100 where a note lies further off than 45.
    """
    rows = list(results)
    seconds = max((float(row["duration_s"]) for row in rows), default=1.0)
    cents = [abs(note["cents"]) for row in rows for note in row["notes"] if note.get("cents") is not None]
    return Scale(max(seconds, 0.1), USUAL_CENTS if max(cents, default=0.0) <= 45.0 else MOST_CENTS)


def picture_of(
    tracks: Mapping[str, Any],
    result: Mapping[str, Any],
    scale: Scale,
    limits: tuple[float | None, float | None] | None = None,
) -> Picture:
    """Return where everything lies.

    Parameters
    ----------
    tracks : mapping
        From `sound.drawing.drawn`: ``step_s``, ``hz`` (None where there is no pitch), ``level_db``.
    result : mapping
        From `reeds.take.sound.report.as_json`.
    scale : Scale
        From `scale_of`.
    limits : (low, high), optional
        In cents, None for an open side; drawn as a band.
    """
    step = float(tracks["step_s"])
    return Picture(
        scale=scale,
        duration_s=float(result["duration_s"]),
        pitch=_pitch(tracks["hz"], step, result, scale),
        level=_level(tracks["level_db"], step, scale),
        notes=_notes(result["notes"], scale),
        cents_ticks=[Tick(scale.y(cents), cents) for cents in (-scale.cents, 0.0, scale.cents)],
        time_ticks=_time_ticks(scale),
        band=_band(limits, scale),
    )


def _pitch(hz: Sequence[float | None], step: float, result: Mapping[str, Any], scale: Scale) -> list[str]:
    """Polylines of the pitch, broken where it stops, leaves the picture or goes over to another note."""
    lines: list[list[str]] = [[]]
    before = None
    for place, pitch in enumerate(hz):
        t = (place + 0.5) * step
        note = None if pitch is None else _note_at(t, pitch, result)
        cents = None if pitch is None or note is None else cents_from_note(pitch, note, result["a4_hz"])
        if cents is None or abs(cents) > scale.cents or note != before:
            lines.append([])
        if cents is not None and abs(cents) <= scale.cents:
            lines[-1].append(f"{scale.x(t)},{scale.y(cents)}")
        before = note
    return [" ".join(line) for line in lines if len(line) > 1]


def _note_at(t: float, hz: float, result: Mapping[str, Any]) -> int:
    for note in result["notes"]:
        if note["sounded"] and note["name"] and note["start_s"] <= t <= note["end_s"]:
            return parse_note(note["name"])
    return nearest_note(hz, result["a4_hz"])


def _level(level_db: Sequence[float], step: float, scale: Scale) -> str:
    def y(db: float) -> float:
        share = min(1.0, max(0.0, (db - QUIETEST_DB) / -QUIETEST_DB))
        return round(LEVEL_BOTTOM - share * (LEVEL_BOTTOM - LEVEL_TOP), 2)

    return " ".join(f"{scale.x((place + 0.5) * step)},{y(db)}" for place, db in enumerate(level_db))


def _notes(notes: Iterable[Mapping[str, Any]], scale: Scale) -> list[NoteShown]:
    shown: list[NoteShown] = []
    free_from = 0.0
    for note in notes:
        if note["start_s"] is None:
            continue
        left, right = scale.x(note["start_s"]), scale.x(note["end_s"])
        has_room = left >= free_from
        name = (note["name"] or "") if has_room else ""
        free_from = left + NAME_ROOM if name else free_from
        shown.append(NoteShown(left, round(max(right - left, 0.5), 2), name, note["sounded"]))
    return shown


def _time_ticks(scale: Scale) -> list[Tick]:
    step = next((step for step in _STEPS_S if scale.seconds / step <= _MOST_TICKS), _STEPS_S[-1])
    return [Tick(scale.x(place * step), place * step) for place in range(int(scale.seconds / step) + 1)]


def _band(limits: tuple[float | None, float | None] | None, scale: Scale) -> Band | None:
    if limits is None or limits == (None, None):
        return None
    low, high = limits
    top = scale.y(scale.cents if high is None else high)
    bottom = scale.y(-scale.cents if low is None else low)
    return Band(top, round(bottom - top, 2))
