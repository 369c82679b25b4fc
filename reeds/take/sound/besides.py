"""What else sounds: lines in the spectrum of the pauses that belong to no note of the player."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reeds.take.sound.heard import Also
from reeds.take.sound.signals import Bools, Floats, Tracks

# all calibrated
_WINDOW_S, _STEP_S = 0.064, 0.032
_LINES_HZ = (170.0, 4000.0)
_AROUND_BINS = 31
_OWN_HZ, _OWN_SHARE = 36.0, 0.012
_BEFORE_S, _RELEASE_S = 0.4, 0.06
# a line stands out by so much; noise reaches it once in thousands of windows, so a few together are needed
_LINE_DB, _FEWEST, _TOGETHER_S = 17.0, 3, 2.0
_MERGED_S = 4.0
_STEADY_SHARE, _STEADY_HZ = 0.8, 5.0
_NEAR_S = 0.5


@dataclass(frozen=True)
class Blown:
    """One note of the player as it bears on what lies beside it: seconds, and hertz."""

    start_s: float
    end_s: float
    hz: float


@dataclass(frozen=True)
class Pauses:
    """The windows of a recording in which no note of the player sounds.

    Attributes
    ----------
    t_s : ndarray, shape (n,)
        Middle of each window.
    line_db : ndarray, shape (n,)
        How far the clearest line stands over what lies around it; lines of the notes beside it left out.
    line_hz : ndarray, shape (n,)
        Where the lowest of those lies that stand out.
    """

    t_s: Floats
    line_db: Floats
    line_hz: Floats


def also_heard(tracks: Tracks, notes: Sequence[Blown]) -> tuple[Also, ...]:
    """Return what else is heard: one steady tone, or stretches of voices or music, in order of time."""
    pauses = pauses_of(tracks, notes)
    lines = pauses.line_db > _LINE_DB
    if not lines.any():
        return ()
    hz = float(np.median(pauses.line_hz[lines]))
    steady = lines & (np.abs(pauses.line_hz - hz) < _STEADY_HZ)
    if steady.mean() > _STEADY_SHARE:
        return (Also("tone", 0.0, float(tracks.t_s[-1]), hz),)
    return tuple(Also("voices", a, b) for a, b in _stretches(pauses.t_s[lines]))


def _stretches(t_s: Floats) -> list[tuple[float, float]]:
    """First and last instant of groups of three or more, no 2 s apart; two that lie close are one."""
    groups = np.split(t_s, np.flatnonzero(np.diff(t_s) > _TOGETHER_S) + 1)
    half, out = _WINDOW_S / 2.0, list[tuple[float, float]]()
    for one in groups:
        if len(one) < _FEWEST:
            continue
        first, last = float(one[0]) - half, float(one[-1]) + half
        if out and first - out[-1][1] < _MERGED_S:
            first = out.pop()[0]
        out.append((first, last))
    return out


def is_alone(also: Sequence[Also], start_s: float, onset_s: float) -> bool:
    """Whether nothing else is heard from 0.5 s before the first air of a note to 0.5 s after its onset."""
    return not any(one.start_s < onset_s + _NEAR_S and one.end_s > start_s - _NEAR_S for one in also)


def pauses_of(tracks: Tracks, notes: Sequence[Blown]) -> Pauses:
    """Return what is heard in the pauses between the player's notes."""
    from scipy import ndimage

    size, step = round(_WINDOW_S * tracks.rate_hz), round(_STEP_S * tracks.rate_hz)
    frames = np.lib.stride_tricks.sliding_window_view(tracks.samples, size)[::step]
    t_s = (np.arange(len(frames)) * step + size / 2) / tracks.rate_hz
    free = _free(t_s, notes)
    t_s, frames = t_s[free], frames[free]
    if not len(t_s):
        return Pauses(*(np.zeros(0) for _ in range(3)))
    power = np.abs(np.fft.rfft(frames * np.hanning(size), 2 * size, axis=1)) ** 2 + 1e-16
    f: Floats = np.fft.rfftfreq(2 * size, 1.0 / tracks.rate_hz).astype(np.float64)
    level = 10.0 * np.log10(power)
    over = level - ndimage.median_filter(level, size=(1, _AROUND_BINS))
    over[:, (f < _LINES_HZ[0]) | (f > _LINES_HZ[1])] = -99.0
    for row, t in zip(over, t_s, strict=True):
        row[_own_lines(f, float(t), notes)] = -99.0
    # the flank of a note's own line is no line
    tops = (level >= np.roll(level, 1, axis=1)) & (level >= np.roll(level, -1, axis=1))
    lines = np.where(tops, over, -99.0)
    return Pauses(t_s, lines.max(axis=1), f[(lines > _LINE_DB).argmax(axis=1)])


def _free(t_s: Floats, notes: Sequence[Blown]) -> Bools:
    free = np.ones(len(t_s), dtype=bool)
    half = _WINDOW_S / 2.0
    for note in notes:
        free &= (t_s < note.start_s - half) | (t_s > note.end_s + half + _RELEASE_S)
    return free


def _own_lines(f: Floats, t: float, notes: Sequence[Blown]) -> Bools:
    """Lines of the two notes before, which the room still carries, and of the next one as it begins."""
    before = [note.hz for note in notes if note.end_s <= t][-2:]
    after = [note.hz for note in notes if t <= note.start_s < t + _BEFORE_S][:1]
    own = np.zeros(len(f), dtype=bool)
    for hz in (*before, *after):
        near = np.abs(f - hz * np.maximum(1.0, np.round(f / hz)))
        own |= near < np.maximum(_OWN_HZ, _OWN_SHARE * f)
    return own
