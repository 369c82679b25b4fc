"""Staccato: which tones are its strokes, their pace and evenness, and where a stroke that was due failed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from reeds.numbers.measured import Measured
from reeds.take.sound.signals import HOP_S, Bools, Floats, Segment, Tracks, cents_of
from reeds.take.sound.tongue import tongued

_SAME_NOTE_CENTS = 150.0
# calibrated: an onset is found to 3 ms (k = 1), to 11 in a room that rings much longer than 0.11 s, however
# long; clicks and voices lie so far below strokes
_ONSET_U_S, _IN_A_ROOM_U_S, _ROOM_RINGS_S, _BELOW_STROKES_DB = 0.0028, 0.011, 0.11, 8.0
# what all onsets are late by alike does not change the pace
_PACE_U_S, _PACE_RINGING_SHARE = 0.0025, 0.024
# of a step: so near to its place an attack was meant for it, so far off a stroke strays at most
_DUE_SHARE, _STRAY_SHARE = 0.3, 0.35
# a stroke heard twice, by its tone and by the tongue, begins as near as this
_NEAR_SHARE = 0.4
_NOISY_SNR_DB, _TWO_STEPS = 14.0, 1.5
# calibrated: a room that rings so many seconds may hide a stroke, one that rings longer any, unless
# nearly all are plain; by what share of the step the worst may stray in the one and in the other
_MAY_RING_S, _RINGS_S, _MAY_STRAY, _PLAIN_STRAY, _MOST_HIDDEN = 0.45, 0.95, 0.5, 0.3, 2


@dataclass(frozen=True)
class Strokes:
    """When each stroke that sounded began and ended, seconds, and how many that were due gave none.

    `hidden` is how many of them were heard by the tongue alone; `are_clear`: no doubtful place is left.
    """

    onsets_s: Floats
    failed: int = 0
    ends_s: Floats = field(default_factory=lambda: np.zeros(0))
    hidden: int = 0
    are_clear: bool = True


def strokes_of(tracks: Tracks, segments: Sequence[Segment], hz: Sequence[float | None]) -> Strokes:
    """Return the strokes: tones of the one pitch (or its octave) no fainter than 8 dB below their median.

    Where one goes over into the next under the ringing of the room the tongue is heard by itself. An attempt
    counts as failed only where a stroke was due: clicks, breaths and voices keep no such place.
    """
    pitch = np.array([one or 0.0 for one in hz])
    if not (pitch > 0).any():
        return Strokes(np.zeros(0), len(segments))
    peaks = np.array([tracks.level_db[one.start : one.end].max(initial=-200.0) for one in segments])
    main_hz = _main_hz(pitch, segments)
    off = cents_of(pitch, main_hz)
    octaves = np.minimum(np.abs(off), np.minimum(np.abs(off - 1200.0), np.abs(off + 1200.0)))
    alike = (pitch > 0) & (octaves < _SAME_NOTE_CENTS)
    good = alike & (peaks > np.median(peaks[alike]) - _BELOW_STROKES_DB)
    starts = np.array([segment.onset for segment in segments]) * HOP_S
    ends = np.array([segment.end for segment in segments]) * HOP_S
    found = tongued(tracks, starts[good], main_hz, _BELOW_STROKES_DB)
    good[good] = found.like & _once(starts[good], found.onsets_s)
    onsets, until = _parted(starts[good], ends[good], found.onsets_s)
    # an attempt of air alone begins with its air
    airs = np.array([segment.start for segment in segments]) * HOP_S
    failed = _failed(onsets, airs[~good])
    return Strokes(onsets, failed, until, len(onsets) - int(good.sum()), found.are_clear)


def _once(onsets: Floats, heard: Floats) -> Bools:
    """Of two tones that begin nearer than strokes do, as where one was cut in two, only what is tongued."""
    once = np.ones(len(onsets), dtype=bool)
    if len(heard) < 2:
        return once
    near = _NEAR_SHARE * float(np.median(np.diff(heard)))
    off = np.array([np.abs(heard - one).min() for one in onsets])
    for i in np.flatnonzero(np.diff(onsets) < near):
        once[i if off[i] > off[i + 1] else i + 1] = False
    return once


def _parted(onsets: Floats, ends: Floats, heard: Floats) -> tuple[Floats, Floats]:
    """The plain strokes, parted where another is heard in them: it ends where they did, they before it."""
    if len(heard) < 2:
        return onsets, ends
    near = _NEAR_SHARE * float(np.median(np.diff(heard)))
    inside = [_end_around(one, onsets, ends, near) for one in heard]
    hidden = np.array([one for one, end in zip(heard, inside, strict=True) if end is not None])
    until = [end for end in inside if end is not None]
    every = np.concatenate([onsets, hidden])
    order = np.argsort(every)
    last = np.concatenate([ends, until])[order]
    return every[order], np.minimum(last, np.append(every[order][1:], np.inf))


def _end_around(one: float, onsets: Floats, ends: Floats, near: float) -> float | None:
    """The end of the stroke within which another begins, None where it is that one itself, or none is."""
    within = (onsets < one) & (ends > one)
    return float(ends[within][-1]) if within.any() and np.abs(onsets - one).min() > near else None


def _main_hz(hz: Floats, segments: Sequence[Segment]) -> float:
    """The pitch in which half of all that sounds has gone by: clicks are short."""
    order = np.argsort(hz)
    lengths = np.array([one.end - one.onset if hz[i] > 0 else 0 for i, one in enumerate(segments)])[order]
    return float(hz[order][np.searchsorted(np.cumsum(lengths), lengths.sum() / 2.0)])


def _failed(onsets: Floats, others: Floats) -> int:
    """How many places between strokes, where one was due, hold another attempt instead."""
    if len(onsets) < 3:
        return 0
    step = float(np.median(np.diff(onsets)))
    failed = 0
    for before, after in pairwise(onsets):
        count = round((after - before) / step)
        due = before + (after - before) * np.arange(1, count) / max(1, count)
        failed += sum(bool((np.abs(others - one) < _DUE_SHARE * step).any()) for one in due)
    return failed


def is_even(strokes: Strokes) -> bool:
    """Whether every stroke follows the one before after one step, as near as a player keeps it."""
    return strayed(strokes) < _STRAY_SHARE


def strayed(strokes: Strokes) -> float:
    """How far the step that strays most lies off the usual one, as a share of it; inf for fewer than two."""
    steps = np.diff(strokes.onsets_s)
    return float(np.abs(steps / np.median(steps) - 1.0).max()) if len(steps) > 1 else float("inf")


def rings_too_long(strokes: Strokes, rings_s: float) -> bool:
    """Whether the room's ringing may have hidden strokes: it is long, or one stroke lasts as long as two.

    A stroke that is hidden leaves a gap, unless it is the first or the last.
    """
    may_stray = _MAY_STRAY if rings_s <= _RINGS_S else _PLAIN_STRAY
    may_hide = rings_s > _MAY_RING_S and (strayed(strokes) >= may_stray or not strokes.are_clear)
    hides = rings_s > _RINGS_S and strokes.hidden > _MOST_HIDDEN
    return may_hide or hides or _lasts_for_two(strokes)


def _lasts_for_two(strokes: Strokes) -> bool:
    """Whether a stroke, the last left out, sounds on to where the next but one was due."""
    steps, lengths = np.diff(strokes.onsets_s), (strokes.ends_s - strokes.onsets_s)[:-1]
    if len(steps) < 2:
        return False
    both = (steps > _TWO_STEPS * np.median(steps)) & (lengths > _TWO_STEPS * np.median(lengths))
    return bool(both.any())


def is_disturbed(
    strokes: Strokes, *, something_else: bool, snr_db: float | None, clicks: bool = False
) -> bool:
    """Whether other sounds or noise may have hidden strokes, or been taken for some.

    Clicks hide none; but one may pass for a stroke, off the beat or under another's ringing.
    """
    noisy = snr_db is not None and snr_db < _NOISY_SNR_DB
    passed = clicks and (strokes.hidden > 0 or _off_the_beat(strokes) >= _STRAY_SHARE)
    return passed or ((something_else or noisy) and not is_even(strokes))


def _off_the_beat(strokes: Strokes) -> float:
    """How far the worst step lies off a whole number of usual ones: where one failed it is two."""
    steps = np.diff(strokes.onsets_s)
    ratio = steps / np.median(steps) if len(steps) else np.ones(1)
    return float(np.abs(ratio - np.maximum(1.0, np.round(ratio))).max())


def pace_of(onsets_s: Floats, rings_s: float = 0.0) -> Measured | None:
    """Strokes a second; a failed one keeps its place. Uncertain is when each began, not how it strays."""
    if len(onsets_s) < 3:
        return None
    intervals = np.diff(onsets_s)
    steps = np.maximum(1, np.round(intervals / np.median(intervals)))
    places = np.concatenate([[0.0], np.cumsum(steps)])
    slope = float(np.polyfit(places, onsets_s, 1)[0])
    onset_u_s = np.hypot(_PACE_U_S, _PACE_RINGING_SHARE * rings_s)
    u_slope = onset_u_s / np.sqrt(np.sum((places - places.mean()) ** 2))
    return Measured(1.0 / slope, float(u_slope / slope**2))


def evenness_of(onsets_s: Floats, rings_s: float = 0.0) -> Measured | None:
    """Coefficient of variation of the steps: what onsets are off by adds to it, and makes it uncertain."""
    if len(onsets_s) < 3:
        return None
    intervals = np.diff(onsets_s)
    steps = intervals[np.round(intervals / np.median(intervals)) <= 1]
    if len(steps) < 2:
        return None
    value = float(np.std(steps, ddof=1) / np.mean(steps))
    blur = np.sqrt(2.0) * _onset_u_s(rings_s) / float(np.mean(steps))
    added = value - np.sqrt(max(0.0, value**2 - blur**2))
    return Measured(value, float(np.hypot(added, blur / np.sqrt(len(steps) - 1))))


def _onset_u_s(rings_s: float) -> float:
    """How well an onset is found: under the ringing of the stroke before it a soft beginning is hidden.

    Once that rings on until the next stroke, ringing longer hides no more of it.
    """
    hidden = rings_s**2 / (rings_s**2 + _ROOM_RINGS_S**2)
    return float(np.hypot(_ONSET_U_S, _IN_A_ROOM_U_S * hidden))
