"""Finds the tones in the tracks: joins what belongs together, parts what the tongue or the pitch parts."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from reeds.numbers.notes import cents_between
from reeds.take.sound.dips import DIP_DB, interruptions
from reeds.take.sound.octaves import octave_factor
from reeds.take.sound.signals import HOP_S, SILENCE_DB, Bools, Floats, Tracks, cents_of

# all calibrated; `BELOW` is below the note, or the note before
_JUMP_CENTS, _JUMP_HELD_S, _JUMP_MEMORY_S = 70.0, 0.03, 0.1
_FAINTEST_BELOW_DB, _OVER_SILENCE_DB, _OVER_FLOOR_DB = 55.0, 20.0, 1.0
_LONGEST_GAP_S, _BRIEF_S = 0.04, 0.045
_SHORTEST_TONE_S, _STRENGTH = 0.03, 0.5
_END_BELOW_DB, _END_OVER_FLOOR_DB = 20.0, 2.0
_TAIL_BELOW_DB, _SHORTEST_TAIL_S = 10.0, 0.04
# of an echo: at once, or late; of a swell of the room at the pitch of the note before
_AT_ONCE_S, _LATE_S, _LATE_BELOW_DB, _DIES_BY_DB = 0.15, 1.0, 25.0, 3.0
_SWELL_BELOW_DB, _STILL_SOUNDING_DB, _SWELL_DB, _SAME_CENTS = 7.0, 25.0, 9.0, 60.0
# neighbours 10 ms apart agree in pitch
_STEADY_FRAMES, _STEADY_CENTS, _STEADY_SHARE = 4, 35.0, 0.6

Piece = tuple[int, int]


def tones_of(tracks: Tracks, floor_db: float) -> tuple[list[Piece], Floats]:
    """Return the tones of a recording, and its pitch track with octaves righted.

    Parameters
    ----------
    tracks : Tracks
        From `reeds.take.sound.tracks.tracks_of`.
    floor_db : float
        The noise; no tone is looked for below it.

    Returns
    -------
    list of (int, int)
        First frame and frame after the last of each tone, in order.
    ndarray, shape (m,)
        Pitch in hertz, 0 where none is heard.
    """
    voiced = _bridged(audible(tracks) & (tracks.level_db > floor_db + _OVER_FLOOR_DB), tracks.level_db)
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
    faintest = max(float(level.max()) - _FAINTEST_BELOW_DB, SILENCE_DB + _OVER_SILENCE_DB)
    return (tracks.hz > 0) & (level > faintest)


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
        if touches and abs(cents_between(_middle_hz(hz, a, b), _middle_hz(hz, *out[-1]))) < _JUMP_CENTS:
            out[-1] = (out[-1][0], b)
        else:
            out.append((a, b))
    return out


def _middle_hz(hz: Floats, a: int, b: int) -> float:
    heard = hz[a:b][hz[a:b] > 0]
    return float(np.median(heard)) if len(heard) else 1.0


def _bridged(voiced: Bools, level: Floats) -> Bools:
    """Close gaps of at most 40 ms over which the level does not fall by 4.5 dB."""
    out = voiced.copy()
    runs = runs_of(voiced)
    for (_, a), (b, _) in pairwise(runs):
        sides = min(level[max(0, a - 8) : a].max(), level[b : b + 8].max())
        if b - a <= _LONGEST_GAP_S / HOP_S and level[a:b].min() > sides - DIP_DB:
            out[a:b] = True
    return out


def _jumps(hz: Floats, a: int, b: int) -> list[int]:
    """Frames at which the pitch leaves where it was over the last 100 ms, by 70 cents for 30 ms or more."""
    cents = cents_of(hz[a:b], 1.0)
    hold, memory = round(_JUMP_HELD_S / HOP_S), round(_JUMP_MEMORY_S / HOP_S)
    may_leave = _may_leave(cents, hold, memory)
    jumps, first, i = [], 0, hold
    while i < len(cents) - hold:
        if may_leave[i] and _leaves(cents[max(first, i - memory) : i], cents[i : i + hold]):
            jumps.append(a + i)
            first = i
            i += hold
        else:
            i += 2
    return jumps


def _leaves(before: Floats, ahead: Floats) -> bool:
    here = np.median(before)
    return bool(ahead.min() - here > _JUMP_CENTS or here - ahead.max() > _JUMP_CENTS)


def _may_leave(cents: Floats, hold: int, memory: int) -> list[bool]:
    """Whether all that follows lies far from something before it: only there a median is worth its time."""
    if len(cents) <= hold:
        return []
    ahead = sliding_window_view(cents, hold)
    before = sliding_window_view(np.pad(cents, (memory, 0), "edge"), memory)[: len(ahead)]
    rises = ahead.min(axis=1) - before.min(axis=1) > _JUMP_CENTS
    falls = before.max(axis=1) - ahead.max(axis=1) > _JUMP_CENTS
    return list((rises | falls).tolist())


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
    return bool(faint) or piece[1] - piece[0] < _SHORTEST_TAIL_S / HOP_S


def _is_brief(piece: Piece) -> bool:
    return piece[1] - piece[0] < _BRIEF_S / HOP_S


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
    apart_s = (piece[0] - before[1]) * HOP_S
    if _dies_away(level[slice(*piece)], loud, apart_s):
        return True
    same = abs(cents_between(_middle_hz(hz, *piece), _middle_hz(hz, *before))) < _SAME_CENTS
    low = float(level[before[1] - 1 : piece[0] + 1].min())
    return same and apart_s < _AT_ONCE_S and _swells(level[slice(*piece)], loud, low)


def _dies_away(level: Floats, loud: float, apart_s: float) -> bool:
    """Whether it is loudest where it begins and far below a tone that ended `apart_s` before it."""
    peak, third = float(level.max()), max(1, len(level) // 3)
    below = _TAIL_BELOW_DB if apart_s < _AT_ONCE_S else _LATE_BELOW_DB
    falls = peak - _DIES_BY_DB < float(level[:third].max()) and level[-1] < level[0]
    return bool(falls and apart_s < _LATE_S and peak < loud - below)


def _swells(level: Floats, loud: float, low: float) -> bool:
    """Whether it rises a little from a level `low` at which the tone before was still to be heard."""
    peak = float(level.max())
    return peak < loud - _SWELL_BELOW_DB and low > loud - _STILL_SOUNDING_DB and peak - low < _SWELL_DB


def _end_of(level: Floats, a: int, b: int, floor: float) -> int:
    """The last frame that is not yet the room's echo: 20 dB below the note, or 2 dB over the floor."""
    enough = level[a:b] > max(float(np.median(level[a:b])) - _END_BELOW_DB, floor + _END_OVER_FLOOR_DB)
    return a + int(np.flatnonzero(enough)[-1]) + 1 if enough.any() else a


def _is_tone(hz: Floats, strength: Floats, a: int, b: int) -> bool:
    if b - a < _SHORTEST_TONE_S / HOP_S:
        return False
    return bool(np.mean(strength[a:b]) > _STRENGTH) and _is_steady(hz[a:b])


def _is_steady(hz: Floats) -> bool:
    """Whether most neighbouring frames agree in pitch: noise wanders, a tone does not."""
    cents = cents_of(hz, 1.0)
    steps = np.abs(cents[_STEADY_FRAMES:] - cents[:-_STEADY_FRAMES])
    return bool(np.mean(steps < _STEADY_CENTS) > _STEADY_SHARE)
