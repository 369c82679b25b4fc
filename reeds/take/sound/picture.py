"""Where everything in the picture of a recording lies: pitch in cents over level over time, notes named.

Convention: x and y are in units of the picture (`WIDTH` wide), y downwards; times in seconds from the first
sample, pitch in cents against the note that was heard or asked for, level in dB re full scale.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reeds.numbers.notes import cents_from_note, nearest_note, parse_note
from reeds.take.sound.contours import Contours
from reeds.take.sound.heard import Heard, HeardNote

WIDTH, HEIGHT = 400, 190
LEFT, RIGHT = 34, 392
NAMES_Y = 12
PITCH_TOP, PITCH_BOTTOM = 20, 120
LEVEL_TOP, LEVEL_BOTTOM = 130, 172
QUIETEST_DB = -70.0
USUAL_CENTS, MOST_CENTS = 50.0, 100.0
_WIDER_FROM_CENTS = 45.0
NAME_ROOM = 22.0
FINEST = 0.5  # of up and down in a line: half a cent, 0.8 dB
_STEPS_S = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0)
_MOST_TICKS = 7


@dataclass(frozen=True)
class PictureScale:
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
class GridLine:
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
class LimitBand:
    """The limits, from the upper edge down."""

    top: float
    height: float


@dataclass(frozen=True)
class SoundPicture:
    """Everything a template needs to draw one recording."""

    scale: PictureScale
    duration_s: float
    pitch: list[str]
    level: str
    notes: list[NoteShown]
    cents_ticks: list[GridLine]
    time_ticks: list[GridLine]
    band: LimitBand | None = None

    width, height = WIDTH, HEIGHT
    left, right = LEFT, RIGHT
    pitch_top, pitch_bottom = PITCH_TOP, PITCH_BOTTOM
    level_top, level_bottom = LEVEL_TOP, LEVEL_BOTTOM
    names_y = NAMES_Y
    plot_width = RIGHT - LEFT
    plot_height = LEVEL_BOTTOM - PITCH_TOP


def scale_of(several: Iterable[Heard]) -> PictureScale:
    """Return the one scale at which recordings can be laid under each other.

    Returns
    -------
    PictureScale
        As long as the longest; 50 cents up and down, 100 where a note lies further off than 45.
    """
    rows = list(several)
    seconds = max((heard.duration_s for heard in rows), default=1.0)
    cents = [abs(note.cents.value) for heard in rows for note in heard.notes if note.cents is not None]
    wide = max(cents, default=0.0) > _WIDER_FROM_CENTS
    return PictureScale(max(seconds, 0.1), MOST_CENTS if wide else USUAL_CENTS)


def picture_of(
    contours: Contours,
    heard: Heard,
    scale: PictureScale,
    limits: tuple[float | None, float | None] | None = None,
) -> SoundPicture:
    """Return where everything lies.

    Parameters
    ----------
    contours, heard
        Of one recording.
    scale : PictureScale
        From `scale_of`.
    limits : (low, high), optional
        In cents, None for an open side; drawn as a band.
    """
    return SoundPicture(
        scale=scale,
        duration_s=heard.duration_s,
        pitch=_pitch(contours, heard, scale),
        level=_level(contours, scale),
        notes=_notes(heard.notes, scale),
        cents_ticks=[GridLine(scale.y(cents), cents) for cents in (-scale.cents, 0.0, scale.cents)],
        time_ticks=_time_ticks(scale),
        band=_band(limits, scale),
    )


def _pitch(contours: Contours, heard: Heard, scale: PictureScale) -> list[str]:
    """Polylines of the pitch, broken where it stops, leaves the picture or goes over to another note."""
    lines: list[list[tuple[float, float]]] = [[]]
    before = None
    for place, hz in enumerate(contours.hz):
        t = (place + 0.5) * contours.step_s
        note = None if hz is None else _note_at(t, hz, heard)
        cents = None if hz is None or note is None else cents_from_note(hz, note, heard.a4_hz)
        if cents is None or abs(cents) > scale.cents or note != before:
            lines.append([])
        if cents is not None and abs(cents) <= scale.cents:
            lines[-1].append((scale.x(t), scale.y(cents)))
        before = note
    return [_line(points) for points in lines if len(points) > 1]


def _line(points: Sequence[tuple[float, float]]) -> str:
    """A polyline's points as coarse as an eye can see; of a level stretch only its two ends."""
    coarse = [(round(x, 1), round(y / FINEST) * FINEST) for x, y in points]
    bends = [
        here
        for before, here, after in zip(coarse, coarse[1:], coarse[2:], strict=False)
        if not before[1] == here[1] == after[1]
    ]
    return " ".join(f"{x:g},{y:g}" for x, y in [coarse[0], *bends, *coarse[1:][-1:]])


def _note_at(t: float, hz: float, heard: Heard) -> int:
    for note in heard.notes:
        if note.sounded and note.name and note.lasts_at(t):
            return parse_note(note.name)
    return nearest_note(hz, heard.a4_hz)


def _level(contours: Contours, scale: PictureScale) -> str:
    def y(db: float) -> float:
        share = min(1.0, max(0.0, (db - QUIETEST_DB) / -QUIETEST_DB))
        return round(LEVEL_BOTTOM - share * (LEVEL_BOTTOM - LEVEL_TOP), 2)

    points = [(scale.x((place + 0.5) * contours.step_s), y(db)) for place, db in enumerate(contours.level_db)]
    return _line(points) if points else ""


def _notes(notes: Sequence[HeardNote], scale: PictureScale) -> list[NoteShown]:
    shown: list[NoteShown] = []
    free_from = 0.0
    for note in notes:
        if note.start_s is None or note.end_s is None:
            continue
        left, right = scale.x(note.start_s), scale.x(note.end_s)
        has_room = left >= free_from
        name = (note.name or "") if has_room else ""
        free_from = left + NAME_ROOM if name else free_from
        shown.append(NoteShown(left, round(max(right - left, 0.5), 2), name, note.sounded))
    return shown


def _time_ticks(scale: PictureScale) -> list[GridLine]:
    step = next((step for step in _STEPS_S if scale.seconds / step <= _MOST_TICKS), _STEPS_S[-1])
    return [GridLine(scale.x(place * step), place * step) for place in range(int(scale.seconds / step) + 1)]


def _band(limits: tuple[float | None, float | None] | None, scale: PictureScale) -> LimitBand | None:
    if limits is None or limits == (None, None):
        return None
    low, high = limits
    top = scale.y(scale.cents if high is None else high)
    bottom = scale.y(-scale.cents if low is None else low)
    return LimitBand(top, round(bottom - top, 2))
