"""What else sounds: lines in the spectrum of the pauses that belong to no note of the player."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from reeds.take.sound.clicks import clicks_of
from reeds.take.sound.heard import Also
from reeds.take.sound.signals import HOP_S, Bools, Floats, Segment, Tracks

# all calibrated
_WINDOW_S, _STEP_S = 0.064, 0.032
_LINES_HZ = (170.0, 4000.0)
_AROUND_BINS = 31
_OWN_HZ, _OWN_SHARE = 36.0, 0.012
_BEFORE_S, _RELEASE_S = 0.4, 0.06
# a line stands out by so much; noise reaches it once in thousands of windows, so a few together are needed
_LINE_DB, _FEWEST, _FEWEST_IN_A_HALL, _TOGETHER_S = 17.0, 3, 8, 2.0
# so long a pause in which nothing is heard parts two stretches; shorter ones may hide what goes on
_PARTED_BY_S = 2.5
_QUIET_PERCENT, _GOES_ON_DB = 10.0, 10.0
_STEADY_SHARE, _SEEN_SHARE, _FEWEST_STEADY = 0.8, 0.3, 8
# how near to an attack nothing else may sound, and where a moment has to be in which it would be heard
_NEAR_S, _BEFORE_AIR_S, _FEWEST_BEFORE = 0.5, 2.5, 2
# a whisper has no lines: so large a share of the pauses is loud, a tone that still rings left out
_RESTLESS_SHARE, _FEWEST_IN_ALL, _DYING_SHARE = 1.0 / 3.0, 6, 0.35
# a player's air is long and steady
_LONG_AIR_S, _STEADY_AIR_DB = 0.3, 8.0


@dataclass(frozen=True)
class Blown:
    """One note of the player as it bears on what lies beside it: seconds, and hertz."""

    start_s: float
    end_s: float
    hz: float


@dataclass(frozen=True)
class Pauses:
    """The windows of a recording in which no note of the player sounds; all windows where there are none.

    Attributes
    ----------
    t_s : ndarray, shape (n,)
        Middle of each window.
    has_line : ndarray of bool, shape (n,)
        Whether a line stands out from what lies around it; lines of the notes beside it left out.
    level_db : ndarray, shape (n,)
        How loud each window is, on a scale of its own.
    steady_hz : float or None
        Where a line stands in all of them.
    are_free : bool
        Whether they are pauses.
    """

    t_s: Floats
    has_line: Bools
    level_db: Floats
    steady_hz: float | None
    are_free: bool = True


@dataclass(frozen=True)
class Around:
    """What lies around the player's notes: what else is heard, and the instants at which it would be, s.

    `is_restless`: the pauses between the notes are not quiet, whatever it is that sounds in them.
    """

    also: tuple[Also, ...] = ()
    free_s: Floats = field(default_factory=lambda: np.zeros(0))
    notes: Sequence[Blown] = ()
    is_restless: bool = False

    def is_alone(self, start_s: float, onset_s: float) -> bool:
        """Whether nothing else is heard from 0.5 s before the first air of a note to 0.5 s after its onset.

        Where no pause comes in the 2.5 s before it that cannot be known, so that it is not; nor is it where
        voices are heard anywhere between the player's notes, since who speaks goes on under them. In a row of
        strokes the pause before the row is what counts.
        """
        rows = [note.start_s for note in self.notes if note.start_s <= onset_s <= note.end_s]
        first_s = min([start_s, *rows])
        before = (self.free_s < first_s) & (self.free_s > first_s - _BEFORE_AIR_S)
        near = [one.start_s < onset_s + _NEAR_S and one.end_s > first_s - _NEAR_S for one in self.also]
        spoiled = self.is_restless or self._is_talked_over()
        return int(before.sum()) >= _FEWEST_BEFORE and not any(near) and not spoiled

    def _is_talked_over(self) -> bool:
        first_s = min((note.start_s for note in self.notes), default=np.inf)
        last_s = max((note.start_s for note in self.notes), default=-np.inf)
        return any(one.kind == "voices" and one.start_s < last_s and one.end_s > first_s for one in self.also)


def around(
    tracks: Tracks,
    notes: Sequence[Blown],
    *,
    rings: bool = False,
    rings_s: float = 0.0,
    airs: Sequence[Segment] = (),
) -> Around:
    """Return what else is heard: one steady tone, or stretches of voices or music; then clicks.

    Where the notes leave no pause only a steady tone can be known, by its line under all of them. In a room
    that rings a few lines may be those of notes long gone; `rings_s` is how long it does. `airs` are
    stretches of air alone: those that are long and steady are the player's.
    """
    pauses = pauses_of(tracks, notes)
    played = [(note.start_s, note.end_s) for note in notes]
    own = [*played, *((one.start * HOP_S, one.end * HOP_S) for one in airs if _is_own_air(tracks, one))]
    if pauses.steady_hz is not None:
        also: tuple[Also, ...] = (Also("tone", 0.0, float(tracks.t_s[-1]), pauses.steady_hz),)
    else:
        apart = _apart(pauses.t_s, [*own, *_without_lines(pauses, airs)], rings_s)
        found = _stretches(pauses, _FEWEST_IN_A_HALL if rings else _FEWEST, apart) if pauses.are_free else []
        also = tuple(Also("voices", a, b) for a, b in found)
    clicks = clicks_of(tracks, played)
    free_s = pauses.t_s if pauses.are_free else np.zeros(0)
    restless = bool(notes) and pauses.are_free and _is_restless(pauses, own, _DYING_SHARE * rings_s)
    return Around((*also, *clicks), free_s, notes, restless and not rings)


def _is_own_air(tracks: Tracks, air: Segment) -> bool:
    level = tracks.level_db[air.start : air.end]
    low, high = np.percentile(level, [10.0, 90.0])
    return len(level) * HOP_S >= _LONG_AIR_S and bool(high - low < _STEADY_AIR_DB)


def _apart(t_s: Floats, spans: Sequence[tuple[float, float]], dying_s: float) -> Bools:
    """Which instants lie apart from the player's notes and airs, and from what of them still dies away."""
    dying_s += _WINDOW_S / 2.0 + _RELEASE_S
    apart = np.ones(len(t_s), dtype=bool)
    for start_s, end_s in spans:
        apart &= (t_s < start_s - _WINDOW_S / 2.0) | (t_s > end_s + dying_s)
    return apart


def _without_lines(pauses: Pauses, airs: Sequence[Segment]) -> list[tuple[float, float]]:
    """Begin and end of each long air in which no more lines stand than by chance: nobody talks in it."""
    at = pauses.t_s[pauses.has_line]
    spans = [(air.start * HOP_S, air.end * HOP_S) for air in airs]
    return [(a, b) for a, b in spans if b - a >= _LONG_AIR_S and ((at > a) & (at < b)).sum() < _FEWEST]


def _is_restless(pauses: Pauses, spans: Sequence[tuple[float, float]], dying_s: float) -> bool:
    """Whether much of the time between the player's notes and airs is louder than the quietest pause."""
    starts = [start_s for start_s, _ in spans]
    counts = (pauses.t_s > min(starts) - _NEAR_S) & (pauses.t_s < max(starts))
    counts &= _apart(pauses.t_s, spans, dying_s)
    quiet_db = np.percentile(pauses.level_db, _QUIET_PERCENT)
    loud = pauses.level_db[counts] > quiet_db + _GOES_ON_DB
    return len(loud) >= _FEWEST_IN_ALL and bool(loud.mean() > _RESTLESS_SHARE)


def _stretches(pauses: Pauses, fewest: int, apart: Bools) -> list[tuple[float, float]]:
    """First and last instant of what holds so many lines or more, and goes on without a silence of 2 s.

    Beside low notes few lines can be seen: there what is louder than the quietest pause is taken for more of
    the same. Two stretches are one where the pauses between them are too short to tell that it went silent.
    None begins or ends with what is the player's own.
    """
    lines = pauses.has_line
    heard = lines | (pauses.level_db > np.percentile(pauses.level_db, _QUIET_PERCENT) + _GOES_ON_DB)
    at = np.flatnonzero(heard)
    half, out = _WINDOW_S / 2.0, list[tuple[float, float]]()
    for own in np.split(at, np.flatnonzero(np.diff(pauses.t_s[at]) > _TOGETHER_S) + 1):
        if lines[own].sum() < fewest:
            continue
        t_s = pauses.t_s[own[apart[own]] if apart[own].any() else own]
        first, last = float(t_s[0]) - half, float(t_s[-1]) + half
        between = (pauses.t_s > out[-1][1]) & (pauses.t_s < first) if out else np.ones(0)
        if out and between.sum() * _STEP_S < _PARTED_BY_S:
            first = out.pop()[0]
        out.append((first, last))
    return out


def pauses_of(tracks: Tracks, notes: Sequence[Blown]) -> Pauses:
    """Return what is heard in the pauses between the player's notes."""
    size, step = round(_WINDOW_S * tracks.rate_hz), round(_STEP_S * tracks.rate_hz)
    frames = np.lib.stride_tricks.sliding_window_view(tracks.samples, size)[::step]
    t_s = (np.arange(len(frames)) * step + size / 2) / tracks.rate_hz
    free = _free(t_s, notes)
    are_free = bool(free.any())
    t_s, frames = (t_s[free], frames[free]) if are_free else (t_s, frames)
    power = np.abs(np.fft.rfft(frames * np.hanning(size), 2 * size, axis=1)) ** 2 + 1e-16
    f: Floats = np.fft.rfftfreq(2 * size, 1.0 / tracks.rate_hz).astype(np.float64)
    loud = 10.0 * np.log10(power.sum(axis=1))
    used = f[: np.searchsorted(f, _LINES_HZ[1], side="right")]
    told = np.array([_is_told(used, float(t), notes) for t in t_s])
    lines = _standing_out(10.0 * np.log10(power[:, : len(used) + _AROUND_BINS]))[:, : len(used)] & told
    return Pauses(t_s, lines.any(axis=1), loud, _steady_hz(used, lines, told), are_free)


def _standing_out(level: Floats) -> Bools:
    """Tops that stand by so much over the median of the bins around: more than half of those lie below."""
    around = np.pad(level, ((0, 0), (_AROUND_BINS // 2, _AROUND_BINS // 2)), mode="symmetric")
    below, low = np.zeros(level.shape, dtype=np.uint8), level - _LINE_DB
    for first in range(_AROUND_BINS):
        below += around[:, first : first + level.shape[1]] < low
    # the flank of a note's own line is no line
    tops = (level >= np.roll(level, 1, axis=1)) & (level >= np.roll(level, -1, axis=1))
    return tops & (below > _AROUND_BINS // 2)


def _steady_hz(f: Floats, lines: Bools, heard: Bools) -> float | None:
    """The lowest line that stands, to a bin, in most windows in which no note's own line lies over it."""
    from scipy import ndimage

    beside = ndimage.binary_dilation(lines, np.ones((1, 3)))
    count = heard.sum(axis=0)
    often = (beside & heard).sum(axis=0) > _STEADY_SHARE * count
    kept = np.flatnonzero(often & (count >= max(_FEWEST_STEADY, len(lines) * _SEEN_SHARE)))
    if not len(kept):
        return None
    lowest = kept[kept <= kept[0] + 2]
    return float(f[lowest[lines[:, lowest].sum(axis=0).argmax()]])


def _free(t_s: Floats, notes: Sequence[Blown]) -> Bools:
    free = np.ones(len(t_s), dtype=bool)
    half = _WINDOW_S / 2.0
    for note in notes:
        free &= (t_s < note.start_s - half) | (t_s > note.end_s + half + _RELEASE_S)
    return free


def _is_told(f: Floats, t: float, notes: Sequence[Blown]) -> Bools:
    """Whether a line there would tell of something else: it lies high enough, and near none of the note that
    sounds, of the two before, which the room still carries, and of the next one."""
    before = [note.hz for note in notes if note.end_s <= t][-2:]
    within = [note.hz for note in notes if note.start_s < t < note.end_s]
    after = [note.hz for note in notes if t <= note.start_s < t + _BEFORE_S][:1]
    told = f >= _LINES_HZ[0]
    for hz in (*before, *within, *after):
        near = np.abs(f - hz * np.maximum(1.0, np.round(f / hz)))
        told &= near >= np.maximum(_OWN_HZ, _OWN_SHARE * f)
    return told
