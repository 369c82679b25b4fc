"""What each item of a playing test asks of its take: one function an item, same shape in and out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from reeds.numbers.measured import Measured
from reeds.numbers.notes import cents_between, hz_of_note, nearest_note
from reeds.take.sound.crow import crow_pitches
from reeds.take.sound.heard import HeardNote, Item, beside
from reeds.take.sound.segments import Span
from reeds.take.sound.tracks import HOP_S, Floats, Tracks

_HIGHEST_LOW_NOTE = 63
_LOWEST_THIRD_OCTAVE_NOTE = 83
_TUNING_NOTE = 69
# an onset is found to 5 ms (k = 1), and a level is read over 24 ms
_ONSET_S, _LEVEL_WINDOW_S, _FLOOR_MAY_CHANGE = 0.005, 0.024, 0.25


@dataclass(frozen=True)
class Listened:
    """What an item may look at.

    Attributes
    ----------
    spans, heard : list
        Every blown note and every attempt that gave only air, in order; the two lists match.
    asked : list or None
        The answers to the expected notes.
    floor_db : float or None
        The noise.
    """

    tracks: Tracks
    spans: list[Span]
    heard: list[HeardNote]
    asked: list[HeardNote] | None
    floor_db: float | None
    a4_hz: float


def low_notes(listened: Listened) -> Item:
    """How many of the notes asked for spoke; without a list, of the attempts, down from Eb4."""
    return _spoke(listened, lambda number: number <= _HIGHEST_LOW_NOTE)


def third_octave(listened: Listened) -> Item:
    """How many of the notes asked for spoke; without a list, of the attempts, up from B5."""
    return _spoke(listened, lambda number: number >= _LOWEST_THIRD_OCTAVE_NOTE)


def _spoke(listened: Listened, belongs: Callable[[int], bool]) -> Item:
    if listened.asked is not None:
        return {"asked": len(listened.asked), "spoke": sum(note.sounded for note in listened.asked)}
    spoke = [n.hz is not None and belongs(nearest_note(n.hz, listened.a4_hz)) for n in listened.heard]
    return {"asked": len(spoke), "spoke": sum(spoke)}


def staccato(listened: Listened) -> Item:
    """Count, rate and evenness of the notes of one pitch, and attacks that gave no such note."""
    hz = np.array([note.hz or 0.0 for note in listened.heard])
    count, onsets = 0, np.zeros(0)
    if (hz > 0).any():
        middle = np.median(hz[hz > 0])
        good = np.abs(1200.0 * np.log2(np.maximum(hz, 1.0) / middle)) < 150.0
        onsets = np.array([span.onset for span in listened.spans])[good] * HOP_S
        count = len(onsets)
    rate, spread = _pace(onsets)
    return {
        "count": count,
        **beside("rate_per_s", rate),
        **beside("interval_cv", spread),
        "failed": len(hz) - count,
    }


def _pace(onsets: Floats) -> tuple[Measured | None, Measured | None]:
    """Notes a second, and the coefficient of variation of the intervals; a failed attack keeps its place."""
    if len(onsets) < 3:
        return None, None
    intervals = np.diff(onsets)
    steps = np.maximum(1, np.round(intervals / np.median(intervals)))
    places = np.concatenate([[0.0], np.cumsum(steps)])
    slope, start = np.polyfit(places, onsets, 1)
    left = float(np.sum((onsets - start - slope * places) ** 2)) / (len(onsets) - 2)
    off = np.sqrt((left + _ONSET_S**2) / np.sum((places - places.mean()) ** 2))
    return Measured(float(1.0 / slope), float(off / slope**2)), _evenness(intervals[steps == 1])


def _evenness(intervals: Floats) -> Measured | None:
    """Their coefficient of variation; by chance it errs by cv / sqrt(2 (n - 1)), by what onsets miss more."""
    n = len(intervals)
    if n < 2:
        return None
    value = float(np.std(intervals, ddof=1) / np.mean(intervals))
    blur = np.sqrt(2.0) * _ONSET_S / float(np.mean(intervals))
    missed = value - np.sqrt(max(0.0, value**2 - blur**2))
    return Measured(value, float(np.hypot(value / np.sqrt(2.0 * (n - 1)), missed)))


def long_tone(listened: Listened) -> Item:
    """From the softest to the loudest of the longest tone, in dB, attack and release left out."""
    tones = [span for span in listened.spans if span.sounded]
    if not tones:
        return beside("range_db", None)
    longest = max(tones, key=lambda span: span.end - span.onset)
    level = listened.tracks.level_db[longest.onset : longest.end]
    margin = min(round(0.1 / HOP_S), len(level) // 4)
    power = 10.0 ** (level[margin : len(level) - margin] / 10.0)
    floor = 0.0 if listened.floor_db is None else 10.0 ** (listened.floor_db / 10.0)
    clean = np.maximum(power - floor, 1e-12)
    width = max(1, min(round(0.1 / HOP_S), len(clean) // 4))
    smooth = np.convolve(clean, np.ones(width) / width, "valid")
    soft, loud = int(np.argmin(smooth)), int(np.argmax(smooth))
    value = 10.0 * float(np.log10(smooth[loud] / smooth[soft]))
    ends = [_level_doubt(clean[at : at + width], floor) for at in (soft, loud)]
    return beside("range_db", Measured(value, float(np.hypot(ends[0], ends[1]))))


def _level_doubt(power: Floats, floor: float) -> float:
    """Doubt in dB of a mean level over 100 ms: its unrest, and noise that may have changed by a quarter."""
    mean = float(np.mean(power))
    apart = max(1.0, len(power) * HOP_S / _LEVEL_WINDOW_S)
    unrest = float(np.std(power)) / np.sqrt(apart)
    return float(10.0 / np.log(10.0) * np.hypot(unrest, _FLOOR_MAY_CHANGE * floor) / mean)


def tuning(listened: Listened) -> Item:
    """Cents of the longest tone against the tuning note asked for, else against A4 or the note nearest it."""
    asked = [note for note in listened.asked or [] if note.cents is not None]
    sounded = asked or [note for note in listened.heard if note.cents is not None]
    if not sounded:
        return beside("cents", None)
    longest = max(sounded, key=lambda note: (note.end_s or 0.0) - (note.start_s or 0.0))
    if longest.cents is None or longest.hz is None:
        return beside("cents", None)
    against_a = cents_between(longest.hz, hz_of_note(_TUNING_NOTE, listened.a4_hz))
    cents = against_a if not asked and abs(against_a) <= 150.0 else longest.cents.value
    return beside("cents", Measured(cents, longest.cents.u))


def crow(listened: Listened) -> Item:
    """The pitches that sound together in a crow, and whether two lie an octave apart."""
    return crow_pitches(listened.tracks, listened.spans, listened.a4_hz)


ITEMS: dict[str, Callable[[Listened], Item]] = {
    "low_notes": low_notes,
    "staccato": staccato,
    "third_octave": third_octave,
    "long_tone": long_tone,
    "tuning": tuning,
    "crow": crow,
}
