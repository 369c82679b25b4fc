"""What is true of a generated take: what was asked, what sounded and when, what else sounds, which room."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np


@dataclass(frozen=True)
class Played:
    """One note that truly sounded. Times in seconds from the first sample of the take.

    Attributes
    ----------
    number : int
        Note number, A4 = 69.
    air_s, start_s, end_s : float
        First air of the player, first and last instant of the tone.
    cents : float or None
        Mean pitch while the tone is settled, against the note; None for a sound font's note.
    answer_ms : float or None
        From the first instant at which the player's sound, air or tone, is heard over the room's noise
        (6 dB) to the first one after which level and pitch, vibrato taken off, stay within 3 dB and 20 cents
        of the note's medians. It is the player's, without the room. None for a sound font's note.
    rise_ms : float or None
        From the first instant of the tone to 3 dB below its full level.
    sd_cents, drift_cents_per_s : float or None
        Standard deviation about the straight line through the settled pitch, and that line's slope.
    level_db, range_db : float
        Of the oboe alone at the microphone, dB re full scale: median level; loudest over softest 100 ms
        without the first and the last 100 ms.
    """

    number: int
    air_s: float
    start_s: float
    end_s: float
    cents: float | None = None
    answer_ms: float | None = None
    rise_ms: float | None = None
    sd_cents: float | None = None
    drift_cents_per_s: float | None = None
    level_db: float = 0.0
    range_db: float = 0.0


@dataclass(frozen=True)
class Tried:
    """An attempt that gave only air."""

    number: int
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Besides:
    """What else sounds: its kind, its level in dB re the oboe, from when to when, its pitch if it has one."""

    kind: str
    level_db: float
    start_s: float
    end_s: float
    hz: float | None = None


@dataclass(frozen=True)
class RoomTake:
    """A take with its truth.

    Attributes
    ----------
    samples : ndarray, shape (n,)
        Full scale -1 to 1, at `rate` per second.
    item, asked, a4_hz
        What the sheet asked for: the item of the playing test, note numbers in order, the studio's A.
    strokes : tuple of Played or Tried
        What the player did, in order.
    besides : tuple of Besides
        What else sounds.
    rt60_s, drr_db : float
        Reverberation time under 2 kHz (0: none), and direct over reverberant energy.
    floor_db : float
        The room's own steady noise in dB re the oboe.
    codec : str
        What the file is written with: one of `tests.rooms.phone.CODECS`.
    band_hz : (float, float)
        What the microphone and the codec let through.
    """

    samples: np.ndarray
    rate: int
    item: str
    asked: tuple[int, ...]
    a4_hz: float
    strokes: tuple[Played | Tried, ...]
    besides: tuple[Besides, ...] = ()
    rt60_s: float = 0.0
    drr_db: float = 0.0
    floor_db: float = -60.0
    codec: str = "wav"
    band_hz: tuple[float, float] = (20.0, 20000.0)
    oboe: str = "model"
    marks: dict[str, object] = field(default_factory=dict)

    @property
    def played(self) -> list[Played]:
        return [stroke for stroke in self.strokes if isinstance(stroke, Played)]

    @property
    def silent(self) -> list[Tried]:
        return [stroke for stroke in self.strokes if isinstance(stroke, Tried)]
