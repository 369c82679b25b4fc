"""Finds where a take sounds, where only air goes, and where all is quiet."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from reeds.take.sound.tones import audible, runs_of, tones_of
from reeds.take.sound.tracks import HOP_S, Bools, Tracks

AIR_OVER_FLOOR_DB = 6.0
_SHORTEST_AIR_S = 0.06
_DEEPEST_FLOOR_DB = 70.0


@dataclass(frozen=True)
class Span:
    """Frames of the tracks that belong to one blown note, or to one attempt that gave only air.

    Attributes
    ----------
    start, onset, end : int
        First frame with air, first frame with a tone (equal to `end` where there is none), and the frame
        after the last.
    """

    start: int
    onset: int
    end: int

    @property
    def sounded(self) -> bool:
        return self.onset < self.end


def noise_floor_db(tracks: Tracks) -> float | None:
    """Return the level in dB of the quiet parts of a take, or None if it has no 40 ms without a tone."""
    near_tone = _widened(audible(tracks), round(0.03 / HOP_S))
    quiet = tracks.level_db[~near_tone]
    if len(quiet) < 0.04 / HOP_S:
        return None
    lowest = quiet[quiet <= np.percentile(quiet, 20.0) + 6.0]
    floor = 10.0 * np.log10(np.mean(10.0 ** (lowest / 10.0)))
    return float(max(floor, tracks.level_db.max() - _DEEPEST_FLOOR_DB))


def _widened(mask: Bools, frames: int) -> Bools:
    return np.convolve(mask.astype(float), np.ones(2 * frames + 1), "same") > 0.5


def spans_of(tracks: Tracks, floor_db: float | None) -> tuple[Tracks, list[Span]]:
    """Return every blown note and every attempt that gave only air, in order of time.

    The tracks come back with each tone's pitch in its right octave.
    """
    floor = floor_db if floor_db is not None else float(tracks.level_db.min()) - AIR_OVER_FLOOR_DB
    tones, hz = tones_of(tracks, floor)
    loud = tracks.fast_db > floor + AIR_OVER_FLOOR_DB
    spans = _with_air(tones, tracks, loud)
    in_order = sorted(spans + _air_only(tracks, floor, spans), key=lambda span: span.start)
    return replace(tracks, hz=hz), in_order


def _with_air(tones: list[tuple[int, int]], tracks: Tracks, loud: Bools) -> list[Span]:
    """Carry each note's start back over the air before it, as far as the note before or the quiet."""
    spans: list[Span] = []
    last = 0
    for a, b in tones:
        low = last + int(np.argmin(tracks.level_db[last : a + 1])) if spans else 0
        quiet = np.flatnonzero(~loud[low : a + 1])
        start = low + int(quiet[-1]) + 1 if len(quiet) else low
        spans.append(Span(min(start, a), a, b))
        last = b
    return spans


def _air_only(tracks: Tracks, floor: float, spans: list[Span]) -> list[Span]:
    smooth = np.convolve(10.0 ** (tracks.level_db / 10.0), np.ones(13) / 13.0, "same")
    loud = smooth > 10.0 ** ((floor + AIR_OVER_FLOOR_DB) / 10.0)
    taken = np.zeros(len(loud), dtype=bool)
    for span in spans:
        taken[max(0, span.start - 8) : span.end] = True
    return [
        Span(a, b, b) for a, b in runs_of(loud) if not taken[a:b].any() and b - a >= _SHORTEST_AIR_S / HOP_S
    ]
