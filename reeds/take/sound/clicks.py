"""Clicks and knocks in the pauses: a metronome, keys, what is put on a table."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reeds.take.sound.heard import Also
from reeds.take.sound.signals import HOP_S, Bools, Floats, Tracks

# all calibrated: a click rises at once, and is gone again where a note or a word lasts
_RISES_DB, _RISE_S = 12.0, 0.0075
_FALLS_DB, _PEAK_S, _GONE_FROM_S, _GONE_TO_S = 6.0, 0.015, 0.03, 0.05
_APART_S, _TOGETHER_S = 0.1, 2.0
_BEFORE_S, _AFTER_S = 0.03, 0.1


def clicks_of(tracks: Tracks, notes: Sequence[tuple[float, float]]) -> tuple[Also, ...]:
    """Return when clicks are heard outside the player's notes; those no 2 s apart are one.

    Parameters
    ----------
    notes : sequence of (float, float)
        First air and end of each note, seconds.
    """
    at_s = [one * HOP_S for one in _clicks(tracks.fast_db, _free(tracks.t_s, notes))]
    if not at_s:
        return ()
    groups = np.split(np.array(at_s), np.flatnonzero(np.diff(at_s) > _TOGETHER_S) + 1)
    return tuple(Also("clicks", float(one[0]), float(one[-1]) + _GONE_TO_S) for one in groups)


def _free(t_s: Floats, notes: Sequence[tuple[float, float]]) -> Bools:
    free = np.ones(len(t_s), dtype=bool)
    for start_s, end_s in notes:
        free &= (t_s < start_s - _BEFORE_S) | (t_s > end_s + _AFTER_S)
    return free


def _clicks(fast_db: Floats, free: Bools) -> list[int]:
    """Frames at which the level rises at once and falls again within 50 ms."""
    rise, peak, gone_from, gone_to = (
        round(one / HOP_S) for one in (_RISE_S, _PEAK_S, _GONE_FROM_S, _GONE_TO_S)
    )
    found: list[int] = []
    for frame in np.flatnonzero(free[rise:] & (fast_db[rise:] - fast_db[:-rise] > _RISES_DB)) + rise:
        after = fast_db[frame : frame + gone_to]
        is_new = not found or (frame - found[-1]) * HOP_S >= _APART_S
        if is_new and len(after) == gone_to and after[gone_from:].max() < after[:peak].max() - _FALLS_DB:
            found.append(int(frame))
    return found
