"""Hears the tongue through a room that rings: all partials of a tone rise together where a stroke begins.

Under the ringing of the stroke before it a stroke may raise the level by less than two partials beat. But
what the tongue does it does to every partial at once, a release first and then a rise, and alike at every
stroke of a row. So the strokes that are plain say what to look for, and that is laid over the whole take.
That a stroke is due somewhere adds nothing: where a tone is held, or only air comes, nothing turns.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from reeds.take.sound.signals import HOP_S, Bools, Floats, Tracks, excerpt

# all calibrated: a partial is read under a raised cosine so long in all, and compared so far to either side
_HALF_WINDOW_S, _BESIDE_S, _HIGHEST_SHARE = 0.016, 0.015, 0.46
# so much of a turn counts; a partial counts over its noise and no deeper under its loudest
_MOST_TURN_DB, _DEEPEST_DB, _OVER_NOISE_DB, _LEAST_RANGE_DB = 8.0, 45.0, 6.0, 15.0
# of a step: what of a stroke is compared, before its beginning and after; how near two strokes may follow
_BEFORE_SHARE, _AFTER_SHARE, _NEAREST_SHARE, _SOUNDS_SHARE = 0.35, 0.75, 0.4, 0.6
# when after the last stroke one more would sound, of a step, and how far below the usual it would be
_ONE_MORE_SHARES, _AS_LOUD_DB = (1.15, 1.4), 6.0
# how much of the usual turn is surely none, and surely one; a tone with less than so much is no stroke
_NO_TURN, _A_TURN, _UNLIKE, _NEAR_S = 0.35, 0.5, 0.25, 0.04
# a turn that is doubtful by itself is one where a stroke is missing: how near two steps and their middle
_OFF_TWO_SHARE, _OFF_MIDDLE_SHARE = 0.5, 0.25
_FEWEST, _ROUNDS, _SAME_STEP_S = 4, 3, 0.005
_BLOCK_FRAMES = 1 << 12


@dataclass(frozen=True)
class Tongued:
    """When strokes begin, seconds.

    `are_clear`: there is no place at which it cannot be told. `like`: of each tone that was given, whether it
    turns as the others do: a click or a word does not.
    """

    onsets_s: Floats
    like: Bools
    are_clear: bool = True


def tongued(tracks: Tracks, onsets_s: Floats, hz: float, below_db: float) -> Tongued:
    """Return every stroke of a row, from those that are plain.

    Parameters
    ----------
    tracks : Tracks
        From `reeds.take.sound.tracks.tracks_of`.
    onsets_s : ndarray, shape (n,)
        The beginnings of the plain ones, seconds; of fewer than four nothing can be learnt.
    hz : float
        Their pitch.
    below_db : float
        How much fainter than the usual stroke one may be, dB.
    """
    turns = turns_db(tracks, hz)
    known, clear = onsets_s, False
    for _ in range(_ROUNDS):
        if len(known) < _FEWEST:
            return Tongued(onsets_s, np.ones(len(onsets_s), dtype=bool), are_clear=False)
        before, share = known, _share_of_usual(turns, _frames(known), _step_s(known))
        known, clear = _alike(tracks, share, _step_s(before), float(onsets_s[0]), below_db)
        if len(known) == len(before) and abs(_step_s(known) - _step_s(before)) < _SAME_STEP_S:
            break
    return Tongued(known, _best_near(share, _frames(onsets_s)) > _UNLIKE, clear)


def _best_near(share: Floats, at: NDArray[np.int_]) -> Floats:
    """The largest share within 40 ms of each of the frames."""
    reach = round(_NEAR_S / HOP_S)
    return np.array([share[max(0, one - reach) : one + reach + 1].max() for one in at])


def _frames(at_s: Floats) -> NDArray[np.int_]:
    return np.round(at_s / HOP_S).astype(int)


def turns_db(tracks: Tracks, hz: float) -> Floats:
    """Return how much the partials of `hz` rise within 30 ms around each frame, dB: the mean of all heard.

    Returns
    -------
    ndarray, shape (m,)
        Every `HOP_S`; below 0 where they fall.
    """
    level = _partials_db(tracks, hz)
    loud, noise = np.percentile(level, [90.0, 5.0], axis=1, keepdims=True)
    lowest = np.maximum(loud - _DEEPEST_DB, noise + _OVER_NOISE_DB)
    heard = (loud - lowest)[:, 0] > _LEAST_RANGE_DB
    beside, turns = round(_BESIDE_S / HOP_S), np.zeros(level.shape[1])
    if heard.any() and len(turns) > 2 * beside:
        kept = np.maximum(level, lowest)[heard]
        rises = np.clip(kept[:, 2 * beside :] - kept[:, : -2 * beside], -_MOST_TURN_DB, _MOST_TURN_DB)
        turns[beside:-beside] = rises.mean(axis=0)
    return turns


def _partials_db(tracks: Tracks, hz: float) -> Floats:
    """Level of each partial at each frame, dB on a scale of its own, shape (partials, m)."""
    rate, half = tracks.rate_hz, round(_HALF_WINDOW_S * tracks.rate_hz)
    at = np.arange(-half, half + 1)
    numbers = np.arange(1, max(1, int(_HIGHEST_SHARE * rate / hz)) + 1)
    turning = np.hanning(len(at)) * np.exp(-2j * np.pi * hz * np.outer(numbers, at / rate))
    waves = np.concatenate([turning.real, turning.imag]).T
    frames = np.lib.stride_tricks.sliding_window_view(
        excerpt(tracks.samples, -half, len(tracks.samples) + 2 * half + 1), len(at)
    )
    centres = np.minimum(np.round(tracks.t_s * rate).astype(int), len(tracks.samples))
    blocks = (centres[first : first + _BLOCK_FRAMES] for first in range(0, len(centres), _BLOCK_FRAMES))
    parts = np.concatenate([frames[block] @ waves for block in blocks]).T
    power = parts[: len(numbers)] ** 2 + parts[len(numbers) :] ** 2
    return np.asarray(10.0 * np.log10(power + 1e-18), dtype=np.float64)


def _alike(
    tracks: Tracks, share: Floats, step: float, first_s: float, below_db: float
) -> tuple[Floats, bool]:
    """Seconds at which it turns as usual, none before the first stroke and none far fainter than the others;
    and whether there are no doubtful ones."""
    from scipy import signal

    at, _ = signal.find_peaks(share, height=_NO_TURN, distance=max(1.0, _NEAREST_SHARE * step / HOP_S))
    lasts = max(1, round(_SOUNDS_SHARE * step / HOP_S))
    loud = np.array([tracks.level_db[one : one + lasts].max() for one in at])
    surely = share[at] > _A_TURN
    if not surely.any():
        return np.zeros(0), False
    usual_db = float(np.median(loud[surely]))
    counts = (loud > usual_db - below_db) & (at * HOP_S > first_s - _BEFORE_SHARE * step)
    surely |= _fills_a_gap(at, surely & counts, step / HOP_S)
    known = at[surely & counts]
    doubtful = (counts & ~surely).any() or _sounds_on(tracks.level_db, known, step, usual_db)
    return known * HOP_S, not doubtful


def _fills_a_gap(at: NDArray[np.int_], surely: Bools, step: float) -> Bools:
    """Which of the doubtful turns lie in the middle of two steps in which no other is: two doubts in one."""
    fills = np.zeros(len(at), dtype=bool)
    known = np.flatnonzero(surely)
    for before, after in pairwise(known):
        middle = 0.5 * (at[before] + at[after])
        two = abs(at[after] - at[before] - 2.0 * step) < _OFF_TWO_SHARE * step
        between = range(before + 1, after)
        near = [i for i in between if abs(at[i] - middle) < _OFF_MIDDLE_SHARE * step]
        fills[near] = two and len(near) == 1
    return fills


def _sounds_on(level_db: Floats, at: NDArray[np.int_], step: float, usual_db: float) -> bool:
    """Whether it is as loud as a stroke where one more was due after the last: it, or only a held tone."""
    if not len(at):
        return False
    first, end = (int(at[-1]) + round(share * step / HOP_S) for share in _ONE_MORE_SHARES)
    return bool(level_db[first:end].max(initial=-np.inf) > usual_db - _AS_LOUD_DB)


def _share_of_usual(turns: Floats, at: NDArray[np.int_], step: float) -> Floats:
    """How much of the usual turn of the strokes `at` is found at each frame: near 1 at a stroke, else 0.

    The least squares fit of the one to the other; the first stroke, which comes out of silence, says nothing.
    """
    before, after = round(_BEFORE_SHARE * step / HOP_S), round(_AFTER_SHARE * step / HOP_S)
    around = np.lib.stride_tricks.sliding_window_view(turns, before + after)
    starts = at[1:] - before
    usual = np.median(around[starts[(starts >= 0) & (starts < len(around))]], axis=0)
    share = np.zeros(len(turns))
    share[before : before + len(around)] = around @ usual / max(1e-9, float(usual @ usual))
    return share


def _step_s(onsets_s: Floats) -> float:
    return float(np.median(np.diff(onsets_s)))
