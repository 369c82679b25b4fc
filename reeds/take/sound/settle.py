"""When a blown note settles, and which part of it is settled."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reeds.numbers.measured import Measured
from reeds.take.sound.doubt import median_level
from reeds.take.sound.segments import Span
from reeds.take.sound.tracks import HOP_S, Bools, Floats, Tracks

SETTLED_DB = 3.0
SETTLED_CENTS = 20.0
_HOLD_S = 0.05
_SWING_TIMES = 1.4
_FAINT_DB = 6.0
# set so that twice the doubt holds 95 % of constructed attacks, see tests/accuracy/sound.py
_ONSET_MS, _RESPONSE_SHARE = 3.5, 0.06


@dataclass(frozen=True)
class Settled:
    """The settled part of a note.

    Attributes
    ----------
    first_s, last_s : float
        Where its pitch is worth averaging.
    response_ms : Measured or None
        From the first air to the first instant after which level stays within 3 dB and pitch within
        20 cents of the note's medians for 50 ms (half the tone where it is shorter than 100 ms).
    level_db : Measured
        Median level of the note, dB re full scale.
    """

    first_s: float
    last_s: float
    response_ms: Measured | None
    level_db: Measured


def settled_part(tracks: Tracks, span: Span) -> Settled:
    """Return the settled part of a span that sounded."""
    tone = slice(span.onset, span.end)
    level = tracks.level_db[span.start : span.end]
    middle_db = float(np.median(tracks.level_db[tone]))
    off = _cents_off(tracks.hz[span.start : span.end], tracks.hz[tone])
    in_tune = off <= SETTLED_CENTS
    hold = max(4, min(round(_HOLD_S / HOP_S), (span.end - span.onset) // 2))
    strict = _first_held(in_tune & (np.abs(level - middle_db) <= SETTLED_DB), hold)
    # a long tone may swell, but 6 dB below its middle the room may be what sounds
    tenth = float(np.percentile(tracks.level_db[tone], 10.0))
    faintest = max(min(middle_db - SETTLED_DB, tenth), middle_db - _FAINT_DB)
    wide = (off <= _swing(off[span.onset - span.start :])) & (level >= faintest)
    first = _first_held(wide, hold)
    kept = np.flatnonzero(wide)
    begin = span.start + (first if first is not None else span.onset - span.start)
    end = span.start + (int(kept[-1]) if len(kept) else span.end - span.start)
    return Settled(
        begin * HOP_S, max(begin, end) * HOP_S, _response(strict), median_level(tracks.level_db[tone], HOP_S)
    )


def _cents_off(hz: Floats, tone_hz: Floats) -> Floats:
    """How far each frame lies from the tone's median pitch; very far where there is no pitch."""
    heard = tone_hz[tone_hz > 0]
    off: Floats = np.abs(1200.0 * np.log2(np.maximum(hz, 1.0) / np.median(heard)))
    return off


def _swing(off: Floats) -> float:
    """How far a settled pitch may lie off: a deep vibrato is settled too, though it leaves 20 cents."""
    return max(SETTLED_CENTS, _SWING_TIMES * float(np.percentile(off, 85.0)))


def _first_held(good: Bools, hold: int) -> int | None:
    if len(good) < hold:
        return None
    held = np.lib.stride_tricks.sliding_window_view(good, hold).all(axis=1)
    return int(np.argmax(held)) if held.any() else None


def _response(frames: int | None) -> Measured | None:
    if frames is None:
        return None
    response = frames * HOP_S * 1000.0
    return Measured(response, float(np.hypot(_ONSET_MS, _RESPONSE_SHARE * response)))
