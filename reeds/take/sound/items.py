"""What each item of a playing test asks of its recording: one function an item, same shape in and out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from reeds.numbers.measured import Measured
from reeds.numbers.notes import cents_between, hz_of_note, nearest_note
from reeds.take.sound.crow import crow_of, crows_of
from reeds.take.sound.heard import Crow, HeardNote, Item, LongTone, NotesSpoken, Staccato, Tuning
from reeds.take.sound.signals import HOP_S, Floats, Segment, Tracks
from reeds.take.sound.strokes import Strokes, evenness_of, pace_of

# numbers of notes: Eb4, B5, A4
_HIGHEST_LOW_NOTE = 63
_LOWEST_THIRD_OCTAVE_NOTE = 83
_TUNING_NOTE = 69
_SAME_NOTE_CENTS = 150.0
_RANGE_WINDOW_S = 0.1
# calibrated: a level is read over 24 ms, noise may change by a quarter
_LEVEL_WINDOW_S, _FLOOR_U_SHARE = 0.024, 0.25


@dataclass(frozen=True)
class Analysis:
    """What an item may look at.

    Attributes
    ----------
    tracks : Tracks
        Each tone in its right octave.
    segments, hz, notes : list
        Every blown note and every attempt that gave only air, in order; its mean pitch, None for air; what it
        is as a note. The three lists match.
    asked : list or None
        The answers to the expected notes.
    floor_db : float or None
        The noise.
    a4_hz : float
        The studio's A.
    rings_s : float
        How long the room rings.
    strokes : Strokes or None
        Those of a staccato, where it is one.
    """

    tracks: Tracks
    segments: list[Segment]
    hz: list[float | None]
    notes: list[HeardNote]
    asked: list[HeardNote] | None
    floor_db: float | None
    a4_hz: float
    rings_s: float = 0.0
    strokes: Strokes | None = None


def low_notes(analysis: Analysis) -> NotesSpoken:
    """How many of the notes asked for spoke; without a list, of the attempts, down from Eb4."""
    return _spoke(analysis, lambda number: number <= _HIGHEST_LOW_NOTE)


def third_octave(analysis: Analysis) -> NotesSpoken:
    """How many of the notes asked for spoke; without a list, of the attempts, up from B5."""
    return _spoke(analysis, lambda number: number >= _LOWEST_THIRD_OCTAVE_NOTE)


def _spoke(analysis: Analysis, belongs: Callable[[int], bool]) -> NotesSpoken:
    if analysis.asked is not None:
        return NotesSpoken(len(analysis.asked), sum(note.sounded for note in analysis.asked))
    spoke = [hz is not None and belongs(nearest_note(hz, analysis.a4_hz)) for hz in analysis.hz]
    return NotesSpoken(len(spoke), sum(spoke))


def staccato(analysis: Analysis) -> Staccato:
    """Count, rate and evenness of the strokes, and attacks that gave none where one was due."""
    found = analysis.strokes or Strokes(np.zeros(0))
    onsets, rings_s = found.onsets_s, analysis.rings_s
    return Staccato(len(onsets), pace_of(onsets, rings_s), evenness_of(onsets, rings_s), found.failed)


def long_tone(analysis: Analysis) -> LongTone:
    """From the softest to the loudest of the longest tone, in dB, attack and release left out."""
    tones = [segment for segment in analysis.segments if segment.sounded]
    if not tones:
        return LongTone()
    longest = max(tones, key=lambda segment: segment.end - segment.onset)
    level = analysis.tracks.level_db[longest.onset : longest.end]
    margin = min(round(_RANGE_WINDOW_S / HOP_S), len(level) // 4)
    power = 10.0 ** (level[margin : len(level) - margin] / 10.0)
    floor = 0.0 if analysis.floor_db is None else 10.0 ** (analysis.floor_db / 10.0)
    clean = np.maximum(power - floor, 1e-12)
    width = max(1, min(round(_RANGE_WINDOW_S / HOP_S), len(clean) // 4))
    smooth = np.convolve(clean, np.ones(width) / width, "valid")
    soft, loud = int(np.argmin(smooth)), int(np.argmax(smooth))
    value = 10.0 * float(np.log10(smooth[loud] / smooth[soft]))
    u_soft, u_loud = (_level_u(clean[at : at + width], floor) for at in (soft, loud))
    return LongTone(Measured(value, float(np.hypot(u_soft, u_loud))))


def _level_u(power: Floats, floor: float) -> float:
    """Uncertainty in dB of a mean level over 100 ms: its scatter, and noise that may have changed."""
    mean = float(np.mean(power))
    independent = max(1.0, len(power) * HOP_S / _LEVEL_WINDOW_S)
    scatter = float(np.std(power)) / np.sqrt(independent)
    return float(10.0 / np.log(10.0) * np.hypot(scatter, _FLOOR_U_SHARE * floor) / mean)


def tuning(analysis: Analysis) -> Tuning:
    """Cents of the tuning note asked for, None where another sounded; without a list, of the longest tone."""
    if analysis.asked:
        asked = [note for note in analysis.asked if note.sounded and note.cents is not None]
        return Tuning(max(asked, key=_length_s).cents if asked else None)
    heard = [
        (note, hz)
        for note, hz in zip(analysis.notes, analysis.hz, strict=True)
        if note.cents is not None and hz is not None
    ]
    if not heard:
        return Tuning()
    note, hz = max(heard, key=lambda pair: _length_s(pair[0]))
    return Tuning(_against_a(hz, note.cents, analysis.a4_hz))


def _length_s(note: HeardNote) -> float:
    return (note.end_s or 0.0) - (note.start_s or 0.0)


def _against_a(hz: float, cents: Measured | None, a4_hz: float) -> Measured | None:
    """Cents against A4 where the tone is meant for one; else as they are, against the nearest note."""
    off = cents_between(hz, hz_of_note(_TUNING_NOTE, a4_hz))
    return cents if cents is None or abs(off) > _SAME_NOTE_CENTS else Measured(off, cents.u)


def crow(analysis: Analysis) -> Crow:
    """The pitches that sound together in a crow, and whether two lie an octave apart."""
    own = [piece for pieces in crows_of(analysis.tracks, analysis.segments) for piece in pieces]
    return crow_of(analysis.tracks, own, analysis.a4_hz)


ITEMS: dict[str, Callable[[Analysis], Item]] = {
    "low_notes": low_notes,
    "staccato": staccato,
    "third_octave": third_octave,
    "long_tone": long_tone,
    "tuning": tuning,
    "crow": crow,
}
