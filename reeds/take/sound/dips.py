"""Tells the tongue from the room: where a tone is interrupted, and where its echo only beats with it."""

from __future__ import annotations

import warnings

import numpy as np

from reeds.take.sound.signals import HOP_S, Floats, Tracks, excerpt

# all calibrated
DIP_DB = 4.5
_PROMINENCE_WINDOW_S = 0.6
# up to how many cents of swing the harmonics have to dip by how many dB
_NEEDED_DB = ((10.0, 3.0), (20.0, 9.0), (np.inf, 18.0))
_WINDOW_S = 0.016
_REACH_S = 0.12
_STRONG_WITHIN_DB = 20.0
_SUDDEN_S, _SUDDEN_SHARE, _BREATH_DB = 0.02, 0.5, 12.0
_MOST_HARMONICS = 8


def interruptions(tracks: Tracks) -> list[int]:
    """Return the frames at which the level dips by 4.5 dB or more, and most strong harmonics with it.

    A vibrato in a live room beats with its own echo: then one harmonic dips here and another there,
    while the tongue stops them all at once.
    """
    from scipy import signal

    with warnings.catch_warnings():
        # digital silence is one flat dip, of no depth within the reach: as it should be
        warnings.simplefilter("ignore")
        found, _ = signal.find_peaks(
            -tracks.level_db, prominence=DIP_DB, wlen=round(_PROMINENCE_WINDOW_S / HOP_S)
        )
    return [int(dip) for dip in found if _all_dip(tracks, int(dip))]


def _all_dip(tracks: Tracks, dip: int) -> bool:
    reach = round(_REACH_S / HOP_S)
    low = max(0, dip - reach)
    before = low + int(np.argmax(tracks.level_db[low : dip + 1]))
    after = dip + int(np.argmax(tracks.level_db[dip : dip + reach]))
    if not np.all(tracks.hz[dip - 1 : dip + 2] > 0):
        return True
    around = tracks.hz[low : dip + reach]
    around = around[around > 0]
    if not _is_sudden(tracks.level_db, dip, after):
        return False
    hz = float(np.median(around))
    here, before_db, after_db = (_harmonics_db(tracks, frame, hz) for frame in (dip, before, after))
    sides = np.minimum(before_db, after_db)
    strong = sides > sides.max() - _STRONG_WITHIN_DB
    return float(np.median((sides - here)[strong])) >= _needed_db(_swing_cents(around))


def _is_sudden(level_db: Floats, dip: int, after: int) -> bool:
    """Whether the level comes back as by the tongue, or dips deeper than breath alone makes it.

    A vibrato of the breath swings like a sine: within 20 ms it comes back by 0.4 of its swing at most.
    """
    back = float(level_db[after] - level_db[dip])
    step = round(_SUDDEN_S / HOP_S)
    later = level_db[dip + step : after + step]  # shorter where the recording ends before
    rise = later - level_db[dip : dip + len(later)]
    return back > _BREATH_DB or (len(rise) > 0 and float(rise.max()) > _SUDDEN_SHARE * back)


def _needed_db(swing_cents: float) -> float:
    """The more the pitch swings, the likelier a dip belongs to the vibrato."""
    return next(depth for swing, depth in _NEEDED_DB if swing_cents <= swing)


def _swing_cents(hz: Floats) -> float:
    low, high = np.percentile(hz, [10.0, 90.0])
    return float(1200.0 * np.log2(high / low))


def _harmonics_db(tracks: Tracks, frame: int, hz: float) -> Floats:
    """Level of each harmonic of `hz` around a frame, dB on a scale of its own."""
    half = round(_WINDOW_S * tracks.rate_hz / 2)
    centre = round(frame * HOP_S * tracks.rate_hz)
    at = np.arange(centre - half, centre + half + 1)
    x = excerpt(tracks.samples, centre - half, len(at)) * np.hanning(len(at))
    count = max(1, min(_MOST_HARMONICS, int(0.46 * tracks.rate_hz / hz)))
    turns = np.exp(-2j * np.pi * hz * np.outer(np.arange(1, count + 1), at / tracks.rate_hz))
    return np.asarray(20.0 * np.log10(np.abs(turns @ x) + 1e-9), dtype=np.float64)
