"""Finds the tones in the tracks: joins what belongs together, parts what the tongue or the pitch parts."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from reeds.take.sound.dips import DIP_DB, interruptions
from reeds.take.sound.octaves import octave_factor
from reeds.take.sound.tracks import HOP_S, SILENCE_DB, Bools, Floats, Tracks

_JUMP_CENTS = 70.0
_SHORTEST_TONE_S = 0.03
_END_BELOW_DB = 20.0
_TAIL_BELOW_DB = 10.0
_FAINTEST_DB = 55.0
_LATE_BELOW_DB = 25.0
_SWELL_BELOW_DB = 7.0
_STILL_SOUNDING_DB = 25.0

Piece = tuple[int, int]


def tones_of(tracks: Tracks, floor_db: float) -> tuple[list[Piece], Floats]:
    """Return (first frame, frame after the last) of each tone, and the pitch track with octaves righted."""
    voiced = _bridged(audible(tracks) & (tracks.level_db > floor_db + 1.0), tracks.level_db)
    cuts = set(interruptions(tracks))
    pieces: list[Piece] = []
    for a, b in runs_of(voiced):
        marks = sorted({a, b} | {c for c in cuts if a < c < b} | set(_jumps(tracks.hz, a, b)))
        pieces += _merged(list(pairwise(marks)), tracks, cuts)
    hz = _righted(tracks, pieces)
    joined = _joined(pieces, hz, cuts)
    ended = [(a, _end_of(tracks.level_db, a, b, floor_db)) for a, b in joined]
    tones = [(a, b) for a, b in ended if _is_tone(hz, tracks.strength, a, b)]
    return _without_echoes(tones, tracks.level_db, hz), hz


def audible(tracks: Tracks) -> Bools:
    """Where a pitch is heard that is more than the last bit of a silent file: within 55 dB of the loudest."""
    level = tracks.level_db
    return (tracks.hz > 0) & (level > max(float(level.max()) - _FAINTEST_DB, SILENCE_DB + 20.0))


def runs_of(mask: Bools) -> list[Piece]:
    """Return (first, after last) of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _righted(tracks: Tracks, pieces: list[Piece]) -> Floats:
    hz = tracks.hz.copy()
    for a, b in pieces:
        if b - a >= _SHORTEST_TONE_S / HOP_S:
            hz[a:b] *= octave_factor(tracks, a, b)
    return hz


def _joined(pieces: list[Piece], hz: Floats, cuts: set[int]) -> list[Piece]:
    """Join neighbours that only the octave had parted."""
    out: list[Piece] = []
    for a, b in pieces:
        touches = bool(out) and a - out[-1][1] <= 1 and a not in cuts
        if touches and abs(_cents(_middle_hz(hz, a, b), _middle_hz(hz, *out[-1]))) < _JUMP_CENTS:
            out[-1] = (out[-1][0], b)
        else:
            out.append((a, b))
    return out


def _middle_hz(hz: Floats, a: int, b: int) -> float:
    heard = hz[a:b][hz[a:b] > 0]
    return float(np.median(heard)) if len(heard) else 1.0


def _cents(hz: float, other_hz: float) -> float:
    return float(1200.0 * np.log2(hz / other_hz))


def _bridged(voiced: Bools, level: Floats) -> Bools:
    """Close gaps of at most 40 ms over which the level does not fall by 4.5 dB."""
    out = voiced.copy()
    runs = runs_of(voiced)
    for (_, a), (b, _) in pairwise(runs):
        sides = min(level[max(0, a - 8) : a].max(), level[b : b + 8].max())
        if b - a <= 0.04 / HOP_S and level[a:b].min() > sides - DIP_DB:
            out[a:b] = True
    return out


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


def _merged(pieces: list[Piece], tracks: Tracks, cuts: set[int]) -> list[Piece]:
    """Give scoops and tails, which are no notes of their own, back to the note they belong to."""
    out: list[Piece] = []
    for a, b in pieces:
        if out and a not in cuts and (_is_brief(out[-1]) or _is_tail(tracks, out[-1], (a, b))):
            out[-1] = (out[-1][0], b)
        else:
            out.append((a, b))
    return out


def _is_tail(tracks: Tracks, before: Piece, piece: Piece) -> bool:
    level = tracks.level_db
    faint = level[slice(*piece)].max() < np.median(level[slice(*before)]) - _TAIL_BELOW_DB
    return bool(faint) or piece[1] - piece[0] < 0.04 / HOP_S


def _is_brief(piece: Piece) -> bool:
    return piece[1] - piece[0] < 0.045 / HOP_S


def _without_echoes(tones: list[Piece], level: Floats, hz: Floats) -> list[Piece]:
    """Drop what is only the room, not the reed: it follows a louder tone at once and dies away, or swells a
    little at that tone's own pitch where the tone before has not yet died away."""
    out: list[Piece] = []
    for a, b in tones:
        if out and _is_echo(out[-1], (a, b), level, hz):
            continue
        out.append((a, b))
    return out


def _is_echo(before: Piece, piece: Piece, level: Floats, hz: Floats) -> bool:
    loud = float(np.percentile(level[slice(*before)], 75.0))
    here = level[slice(*piece)]
    third = max(1, len(here) // 3)
    peak = float(here.max())
    apart_s = (piece[0] - before[1]) * HOP_S
    below = _TAIL_BELOW_DB if apart_s < 0.15 else _LATE_BELOW_DB
    dies = (
        apart_s < 1.0
        and peak < loud - below
        and peak - 3.0 < float(here[:third].max())
        and here[-1] < here[0]
    )
    same = abs(_cents(_middle_hz(hz, *piece), _middle_hz(hz, *before))) < 60.0
    low = float(level[before[1] - 1 : piece[0] + 1].min())
    swells = (
        apart_s < 0.15
        and same
        and peak < loud - _SWELL_BELOW_DB
        and low > loud - _STILL_SOUNDING_DB
        and peak - low < 9.0
    )
    return bool(dies or swells)


def _end_of(level: Floats, a: int, b: int, floor: float) -> int:
    """The last frame that is not yet the room's echo: 20 dB below the note, or 3 dB over the floor."""
    enough = level[a:b] > max(float(np.median(level[a:b])) - _END_BELOW_DB, floor + 2.0)
    return a + int(np.flatnonzero(enough)[-1]) + 1 if enough.any() else a


def _is_tone(hz: Floats, strength: Floats, a: int, b: int) -> bool:
    if b - a < _SHORTEST_TONE_S / HOP_S:
        return False
    return bool(np.mean(strength[a:b]) > 0.5) and _is_steady(hz[a:b])


def _is_steady(hz: Floats) -> bool:
    """Whether most neighbouring frames agree in pitch: noise wanders, a tone does not."""
    cents = 1200.0 * np.log2(np.maximum(hz, 1.0))
    steps = np.abs(cents[4:] - cents[:-4])
    return bool(np.mean(steps < 35.0) > 0.6)
