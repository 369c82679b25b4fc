"""The pitch and level of a recording over time, few enough points to draw."""

from __future__ import annotations

from dataclasses import dataclass

from reeds.numbers.late import np
from reeds.take.sound.signals import HOP_S, Floats, Tracks

MOST_POINTS = 600


@dataclass(frozen=True)
class Contours:
    """Pitch and level in equal steps of time.

    Attributes
    ----------
    step_s : float
        Seconds from point to point; the first stands for 0 to `step_s`.
    hz : tuple of float or None
        Median pitch of each step, None where no pitch is heard in most of it.
    level_db : tuple of float
        The loudest of each step, dB re full scale; as many as `hz`.
    """

    step_s: float
    hz: tuple[float | None, ...] = ()
    level_db: tuple[float, ...] = ()


def contours_of(tracks: Tracks, most: int = MOST_POINTS) -> Contours:
    """Return the tracks with at most `most` points.

    Parameters
    ----------
    tracks : Tracks
        From `reeds.take.sound.analysis.analyse_with_tracks`.
    most : int
        How many points at most, at least 1.
    """
    frames = len(tracks.level_db)
    block = max(1, -(-frames // most))
    starts = np.arange(0, frames, block)
    loudest = np.maximum.reduceat(tracks.level_db, starts)
    return Contours(
        round(block * HOP_S, 6),
        tuple(_pitch(tracks.hz[start : start + block]) for start in starts),
        tuple(round(float(level), 1) for level in loudest),
    )


def _pitch(hz: Floats) -> float | None:
    voiced = hz[np.isfinite(hz) & (hz > 0)]
    return round(float(np.median(voiced)), 2) if 2 * len(voiced) > len(hz) else None
