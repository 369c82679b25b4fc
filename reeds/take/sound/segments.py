"""Finds where a recording sounds, where only air goes, and where all is quiet."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from reeds.numbers.notes import cents_between
from reeds.take.sound.signals import HOP_S, Bools, Segment, Tracks
from reeds.take.sound.tones import Piece, audible, runs_of, tones_of

AIR_OVER_FLOOR_DB = 6.0
# all calibrated
_DEEPEST_FLOOR_DB = 70.0
_SHORTEST_PAUSE_S, _NEAR_TONE_S = 0.04, 0.03
_QUIETEST_PERCENT, _QUIET_WITHIN_DB = 20.0, 6.0
_UNPARTED_S, _UNPARTED_CENTS = 0.1, 50.0
_SHORTEST_AIR_S, _AIR_WINDOW_S, _AIR_APART_S = 0.06, 0.0325, 0.02
_AIR_PERCENT, _AIR_DIP_DB, _MOST_VOICED = 75.0, 10.0, 0.3


def noise_floor_db(tracks: Tracks) -> float | None:
    """Return the level in dB of the quiet parts of a recording, or None if it has no 40 ms without a tone."""
    near_tone = _widened(audible(tracks), round(_NEAR_TONE_S / HOP_S))
    quiet = tracks.level_db[~near_tone]
    if len(quiet) < _SHORTEST_PAUSE_S / HOP_S:
        return None
    lowest = quiet[quiet <= np.percentile(quiet, _QUIETEST_PERCENT) + _QUIET_WITHIN_DB]
    floor = 10.0 * np.log10(np.mean(10.0 ** (lowest / 10.0)))
    return float(max(floor, tracks.level_db.max() - _DEEPEST_FLOOR_DB))


def _widened(mask: Bools, frames: int) -> Bools:
    from scipy import ndimage

    wide: Bools = ndimage.binary_dilation(mask, np.ones(2 * frames + 1))
    return wide


def segments_of(tracks: Tracks, floor_db: float | None) -> tuple[Tracks, list[Segment]]:
    """Return every blown note and every attempt that gave only air, in order of time.

    Parameters
    ----------
    tracks : Tracks
        From `tracks_of`.
    floor_db : float or None
        From `noise_floor_db`.

    Returns
    -------
    Tracks
        The same with each tone's pitch in its right octave.
    list of Segment
        None overlaps another.
    """
    floor = floor_db if floor_db is not None else float(tracks.level_db.min()) - AIR_OVER_FLOOR_DB
    tones, hz = tones_of(tracks, floor)
    loud = tracks.fast_db > floor + AIR_OVER_FLOOR_DB
    segments = _with_air(tones, tracks, loud)
    in_order = sorted(segments + _air_only(tracks, floor, segments), key=lambda segment: segment.start)
    return replace(tracks, hz=hz), in_order


def unparted(tracks: Tracks, segments: list[Segment]) -> list[Segment]:
    """Return the segments with tones of one pitch that touch made one: where one long tone is asked for,
    a dip of its level is the player's tremolo beating with the room, and not the tongue."""
    out: list[Segment] = []
    for one in segments:
        if out and _goes_on(tracks, out[-1], one):
            out[-1] = replace(out[-1], end=one.end)
        else:
            out.append(one)
    return out


def _goes_on(tracks: Tracks, before: Segment, after: Segment) -> bool:
    if not (before.sounded and after.sounded) or after.onset - before.end > _UNPARTED_S / HOP_S:
        return False
    hz = [tracks.hz[one.onset : one.end] for one in (before, after)]
    low, high = sorted(float(np.median(one[one > 0])) if (one > 0).any() else 1.0 for one in hz)
    return abs(cents_between(high, low)) < _UNPARTED_CENTS


def _with_air(tones: list[tuple[int, int]], tracks: Tracks, loud: Bools) -> list[Segment]:
    """Carry each note's start back over the air before it, as far as the note before or the quiet."""
    segments: list[Segment] = []
    last = 0
    for a, b in tones:
        low = last + int(np.argmin(tracks.level_db[last : a + 1])) if segments else 0
        quiet = np.flatnonzero(~loud[low : a + 1])
        start = low + int(quiet[-1]) + 1 if len(quiet) else low
        segments.append(Segment(min(start, a), a, b))
        last = b
    return segments


def _air_only(tracks: Tracks, floor: float, segments: list[Segment]) -> list[Segment]:
    """Attempts that gave only air: away from every note, or between two with a dip on either side."""
    window = round(_AIR_WINDOW_S / HOP_S)
    smooth = np.convolve(10.0 ** (tracks.level_db / 10.0), np.ones(window) / window, "same")
    loud = smooth > 10.0 ** ((floor + AIR_OVER_FLOOR_DB) / 10.0)
    near, within = (_occupied(segments, len(loud), apart_s) for apart_s in (_AIR_APART_S, 0.0))
    found: list[Piece] = []
    for a, b in runs_of(loud):
        found += _between(tracks, a, b, within) if near[a:b].any() else [(a, b)]
    return [Segment(a, b, b) for a, b in found if b - a >= _SHORTEST_AIR_S / HOP_S]


def _occupied(segments: list[Segment], count: int, apart_s: float) -> Bools:
    occupied = np.zeros(count, dtype=bool)
    for segment in segments:
        occupied[max(0, segment.start - round(apart_s / HOP_S)) : segment.end] = True
    return occupied


def _between(tracks: Tracks, a: int, b: int, occupied: Bools) -> list[Piece]:
    """What of a loud stretch is neither note nor its own air or echo: those fall or rise without a dip."""
    out: list[Piece] = []
    for c, d in runs_of(~occupied[a:b]):
        level, hz = tracks.level_db[a + c : a + d], tracks.hz[a + c : a + d]
        full = level > np.percentile(level, _AIR_PERCENT) - _AIR_DIP_DB
        parted = [(e, f) for e, f in runs_of(full) if e > 0 and f < len(level)]
        out += [(a + c + e, a + c + f) for e, f in parted if np.mean(hz[e:f] > 0) < _MOST_VOICED]
    return out
