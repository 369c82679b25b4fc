"""How long the room rings, from the way the tones of the take itself die away."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reeds.take.sound.signals import HOP_S, Floats, Segment, Tracks

# all calibrated: where in a decay it is the room's, in dB below the tone, and how much of it is needed
_FULL_WITHIN_DB, _FROM_BELOW_DB, _TO_BELOW_DB, _OVER_FLOOR_DB, _LEAST_DB = 3.0, 8.0, 30.0, 6.0, 8.0
_LONGEST_S, _TAIL_BELOW_DB = 2.0, 8.0


def ringing_s(tracks: Tracks, segments: Sequence[Segment], floor_db: float | None) -> float | None:
    """Return the seconds in which a tone would die away by 60 dB after its end; None where none is heard.

    The median over the tones of the slope of their level from 8 to 30 dB below the tone (as ISO 3382-2 reads
    T20 from 5 to 25 dB), as far as the noise or the next note lets it be seen.
    """
    floor = floor_db if floor_db is not None else float(tracks.level_db.min())
    starts = [*(segment.start for segment in segments), len(tracks.level_db)][1:]
    found = [
        _decay_s(tracks.level_db, segment, until, floor)
        for segment, until in zip(segments, starts, strict=True)
        if segment.sounded
    ]
    known = [one for one in found if one is not None]
    return float(np.median(known)) if known else _after_all_s(tracks, segments, floor)


def _after_all_s(tracks: Tracks, segments: Sequence[Segment], floor: float) -> float | None:
    """The decay after the last loud tone, where the room's own beating made tones of what dies away."""
    sounded = [one for one in segments if one.sounded]
    loud = [float(np.median(tracks.level_db[one.onset : one.end])) for one in sounded]
    last = [one for one, level in zip(sounded, loud, strict=True) if level > max(loud) - _TAIL_BELOW_DB][-1:]
    return _decay_s(tracks.level_db, last[0], len(tracks.level_db), floor) if last else None


def _decay_s(level_db: Floats, segment: Segment, until: int, floor: float) -> float | None:
    tone = level_db[segment.onset : segment.end]
    middle = float(np.median(tone))
    last = segment.onset + int(np.flatnonzero(tone > middle - _FULL_WITHIN_DB)[-1])
    tail = level_db[last : min(until, last + round(_LONGEST_S / HOP_S))]
    lowest = max(middle - _TO_BELOW_DB, floor + _OVER_FLOOR_DB)
    first = np.flatnonzero(tail < middle - _FROM_BELOW_DB)
    end = np.flatnonzero(tail < lowest)
    a = int(first[0]) if len(first) else len(tail)
    b = int(end[0]) if len(end) else len(tail)
    if b - a < 3 or tail[a] - tail[b - 1] < _LEAST_DB:
        return None
    slope = float(np.polyfit(np.arange(b - a) * HOP_S, tail[a:b], 1)[0])
    return -60.0 / slope if slope < 0 else None
