"""When a blown note settles, and which part of it is settled."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reeds.numbers.measured import Measured
from reeds.take.sound.signals import HOP_S, Bools, Floats, Segment, Tracks, cents_of
from reeds.take.sound.swing import without_swing
from reeds.take.sound.uncertainty import median_level

SETTLED_DB = 3.0
SETTLED_CENTS = 20.0
_HOLD_S = 0.05
# calibrated: how many times its 85th percentile a vibrato reaches, how far a tone may fade
_VIBRATO_RATIO, _VIBRATO_PERCENT = 1.4, 85.0
_FADE_DB = 6.0
# calibrated so that twice the doubt holds 95 % of constructed attacks
_ONSET_U_MS, _RESPONSE_U_SHARE = 3.5, 0.06


@dataclass(frozen=True)
class Settled:
    """The settled part of a note.

    Attributes
    ----------
    first_s, last_s : float
        Where its pitch is worth averaging.
    response_ms : Measured or None
        From the first air to the first instant after which level stays within 3 dB and pitch within
        20 cents of the note's medians for 50 ms (half the tone where it is shorter than 100 ms), both as
        means over one vibrato period: a vibrato is taken off first.
    level_db : Measured
        Median level of the note, dB re full scale.
    """

    first_s: float
    last_s: float
    response_ms: Measured | None
    level_db: Measured


def settled_part(tracks: Tracks, segment: Segment) -> Settled:
    """Return the settled part of a segment that sounded."""
    tone = slice(segment.onset, segment.end)
    level = tracks.level_db[segment.start : segment.end]
    middle_db = float(np.median(tracks.level_db[tone]))
    off = _cents_off(tracks.hz[segment.start : segment.end], tracks.hz[tone])
    hold = max(4, min(round(_HOLD_S / HOP_S), (segment.end - segment.onset) // 2))
    strict = _first_held(_near_its_medians(tracks, segment), hold)
    # a long tone may swell, but 6 dB below its middle the room may be what sounds
    tenth = float(np.percentile(tracks.level_db[tone], 10.0))
    faintest = max(min(middle_db - SETTLED_DB, tenth), middle_db - _FADE_DB)
    wide = (off <= _vibrato_cents(off[segment.onset - segment.start :])) & (level >= faintest)
    first = _first_held(wide, hold)
    kept = np.flatnonzero(wide)
    begin = segment.start + (first if first is not None else segment.onset - segment.start)
    end = segment.start + (int(kept[-1]) if len(kept) else segment.end - segment.start)
    return Settled(
        begin * HOP_S, max(begin, end) * HOP_S, _response(strict), median_level(tracks.level_db[tone], HOP_S)
    )


def _near_its_medians(tracks: Tracks, segment: Segment) -> Bools:
    """Where level and pitch, vibrato taken off, lie within 3 dB and 20 cents of the note's medians."""
    heard = slice(segment.start, segment.end)
    from_tone = segment.onset - segment.start
    hz = tracks.hz[heard]
    cents = cents_of(hz, float(np.median(hz[from_tone:][hz[from_tone:] > 0])))
    near = np.ones(len(hz), dtype=bool)
    for values, most in ((tracks.level_db[heard], SETTLED_DB), (cents, SETTLED_CENTS)):
        flat = without_swing(values, from_tone)
        near &= np.abs(flat - np.median(flat[from_tone:])) <= most
    return near


def _cents_off(hz: Floats, tone_hz: Floats) -> Floats:
    """How far each frame lies from the tone's median pitch; very far where there is no pitch."""
    return np.abs(cents_of(hz, float(np.median(tone_hz[tone_hz > 0]))))


def _vibrato_cents(off: Floats) -> float:
    """How far a settled pitch may lie off: a deep vibrato is settled too, though it leaves 20 cents."""
    return max(SETTLED_CENTS, _VIBRATO_RATIO * float(np.percentile(off, _VIBRATO_PERCENT)))


def _first_held(good: Bools, hold: int) -> int | None:
    if len(good) < hold:
        return None
    held = np.lib.stride_tricks.sliding_window_view(good, hold).all(axis=1)
    return int(np.argmax(held)) if held.any() else None


def _response(frames: int | None) -> Measured | None:
    if frames is None:
        return None
    response = frames * HOP_S * 1000.0
    return Measured(response, float(np.hypot(_ONSET_U_MS, _RESPONSE_U_SHARE * response)))
