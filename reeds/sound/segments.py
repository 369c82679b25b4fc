"""Finds where a take sounds, where only air goes, and where all is quiet."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from reeds.sound.tracks import HOP_S, Bools, Floats, Tracks

AIR_OVER_FLOOR_DB = 6.0
_DIP_DB = 4.5
_JUMP_CENTS = 70.0
_SHORTEST_TONE_S = 0.03
_SHORTEST_AIR_S = 0.06
_DEEPEST_FLOOR_DB = 70.0
_END_BELOW_DB = 20.0
_TAIL_BELOW_DB = 10.0


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


def runs_of(mask: Bools) -> list[tuple[int, int]]:
    """Return (first, after last) of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def noise_floor_db(tracks: Tracks) -> float | None:
    """Return the level in dB of the quiet parts of a take, or None if it has no 40 ms without a tone."""
    near_tone = _widened(tracks.hz > 0, round(0.03 / HOP_S))
    quiet = tracks.level_db[~near_tone]
    if len(quiet) < 0.04 / HOP_S:
        return None
    lowest = quiet[quiet <= np.percentile(quiet, 20.0) + 6.0]
    floor = 10.0 * np.log10(np.mean(10.0 ** (lowest / 10.0)))
    return float(max(floor, tracks.level_db.max() - _DEEPEST_FLOOR_DB))


def _widened(mask: Bools, frames: int) -> Bools:
    return np.convolve(mask.astype(float), np.ones(2 * frames + 1), "same") > 0.5


def spans_of(tracks: Tracks, floor_db: float | None) -> list[Span]:
    """Return every blown note and every attempt that gave only air, in order of time."""
    floor = floor_db if floor_db is not None else float(tracks.level_db.min()) - AIR_OVER_FLOOR_DB
    tones = _tones(tracks, floor)
    loud = tracks.fast_db > floor + AIR_OVER_FLOOR_DB
    spans = _with_air(tones, tracks, loud)
    return sorted(spans + _air_only(tracks, floor, spans), key=lambda span: span.start)


def _tones(tracks: Tracks, floor: float) -> list[tuple[int, int]]:
    voiced = _bridged((tracks.hz > 0) & (tracks.level_db > floor + 1.0), tracks.level_db)
    cuts = set(_dips(tracks.level_db))
    pieces: list[tuple[int, int]] = []
    for a, b in runs_of(voiced):
        marks = sorted({a, b} | {c for c in cuts if a < c < b} | set(_jumps(tracks.hz, a, b)))
        pieces += _merged(list(pairwise(marks)), tracks, cuts)
    ended = [(a, _end_of(tracks.level_db, a, b, floor)) for a, b in pieces]
    return [(a, b) for a, b in ended if _is_tone(tracks, a, b)]


def _bridged(voiced: Bools, level: Floats) -> Bools:
    """Close gaps of at most 40 ms over which the level does not fall by 4.5 dB."""
    out = voiced.copy()
    runs = runs_of(voiced)
    for (_, a), (b, _) in pairwise(runs):
        sides = min(level[max(0, a - 8) : a].max(), level[b : b + 8].max())
        if b - a <= 0.04 / HOP_S and level[a:b].min() > sides - _DIP_DB:
            out[a:b] = True
    return out


def _dips(level: Floats) -> list[int]:
    # scipy.signal takes most of a second to import: only the worker pays for it
    from scipy import signal

    found, _ = signal.find_peaks(-level, prominence=_DIP_DB, wlen=round(0.6 / HOP_S))
    return [int(index) for index in found]


def _jumps(hz: Floats, a: int, b: int) -> list[int]:
    """Frames at which the pitch leaves where it was over the last 100 ms, by 70 cents for 30 ms or more."""
    cents = 1200.0 * np.log2(np.maximum(hz[a:b], 1.0))
    hold, memory = round(0.03 / HOP_S), round(0.1 / HOP_S)
    jumps, first, i = [], 0, hold
    while i < len(cents) - hold:
        here = np.median(cents[max(first, i - memory) : i])
        ahead = cents[i : i + hold] - here
        if np.all(ahead > _JUMP_CENTS) or np.all(ahead < -_JUMP_CENTS):
            jumps.append(a + i)
            first = i
            i += hold
        else:
            i += 2
    return jumps


def _merged(pieces: list[tuple[int, int]], tracks: Tracks, cuts: set[int]) -> list[tuple[int, int]]:
    """Give scoops and tails, which are no notes of their own, back to the note they belong to."""
    out: list[tuple[int, int]] = []
    for a, b in pieces:
        if out and a not in cuts and (_is_brief(out[-1]) or _is_tail(tracks, out[-1], (a, b))):
            out[-1] = (out[-1][0], b)
        else:
            out.append((a, b))
    return out


def _is_tail(tracks: Tracks, before: tuple[int, int], piece: tuple[int, int]) -> bool:
    level = tracks.level_db
    faint = level[slice(*piece)].max() < np.median(level[slice(*before)]) - _TAIL_BELOW_DB
    return bool(faint) or piece[1] - piece[0] < 0.04 / HOP_S


def _is_brief(piece: tuple[int, int]) -> bool:
    return piece[1] - piece[0] < 0.045 / HOP_S


def _end_of(level: Floats, a: int, b: int, floor: float) -> int:
    """The last frame that is not yet the room's echo: 20 dB below the note, or 3 dB over the floor."""
    enough = level[a:b] > max(float(np.median(level[a:b])) - _END_BELOW_DB, floor + 2.0)
    return a + int(np.flatnonzero(enough)[-1]) + 1 if enough.any() else a


def _is_tone(tracks: Tracks, a: int, b: int) -> bool:
    if b - a < _SHORTEST_TONE_S / HOP_S:
        return False
    strength = tracks.strength[a:b]
    return bool(np.mean(strength) > 0.5) and _is_steady(tracks.hz[a:b])


def _is_steady(hz: Floats) -> bool:
    """Whether most neighbouring frames agree in pitch: noise wanders, a tone does not."""
    cents = 1200.0 * np.log2(np.maximum(hz, 1.0))
    steps = np.abs(cents[4:] - cents[:-4])
    return bool(np.mean(steps < 35.0) > 0.6)


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
