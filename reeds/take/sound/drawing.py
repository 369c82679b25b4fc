"""A take's pitch and level over time, few enough points to draw."""

from __future__ import annotations

import numpy as np

from reeds.take.sound.tracks import HOP_S, Tracks

MOST_POINTS = 600


def drawn(tracks: Tracks, most: int = MOST_POINTS) -> dict[str, object]:
    """Return the tracks with at most `most` points, as plain values for JSON.

    Parameters
    ----------
    tracks : Tracks
        From `reeds.take.sound.measure.measure_with_tracks`.
    most : int
        How many points at most, at least 1.

    Returns
    -------
    dict
        ``step_s`` (seconds from point to point), ``hz`` (median pitch of each step, None where no pitch
        is heard in most of it), ``level_db`` (the loudest of each step, dB re full scale).
    """
    frames = len(tracks.level_db)
    block = max(1, -(-frames // most))
    hz = [_pitch(tracks.hz[start : start + block]) for start in range(0, frames, block)]
    level = [
        round(float(np.max(tracks.level_db[start : start + block])), 1) for start in range(0, frames, block)
    ]
    return {"step_s": round(block * HOP_S, 6), "hz": hz, "level_db": level}


def _pitch(hz: np.ndarray) -> float | None:
    voiced = hz[np.isfinite(hz) & (hz > 0)]
    return round(float(np.median(voiced)), 2) if 2 * len(voiced) > len(hz) else None
