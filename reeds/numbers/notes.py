"""Names of notes, hertz and cents in equal temperament against a studio's A."""

from __future__ import annotations

import math
import re

from reeds.numbers.words import Refused, gettext_noop

NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
A4_LOWEST_HZ, A4_HIGHEST_HZ = 415.0, 446.0
_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_BENDS = {"#": 1, "♯": 1, "b": -1, "♭": -1}
_SPELLING = re.compile(r"\s*([A-Ga-g])([#♯b♭]{0,2})(\d)\s*")
_A4 = 69


class NotANoteError(Refused):
    """A word that names no note."""


def parse_note(word: str) -> int:
    """Return the note number (A4 = 69, a semitone each) of a name such as ``Bb3``, ``A#3`` or ``c5``.

    Raises
    ------
    NotANoteError
        If the word is not a letter A to G, up to two sharps or flats, and an octave digit.
    """
    found = _SPELLING.fullmatch(word)
    if not found:
        raise NotANoteError(gettext_noop("A note is written like D4, F#5 or Bb3."))
    letter, bends, octave = found.groups()
    return 12 * (int(octave) + 1) + _STEPS[letter.upper()] + sum(_BENDS[bend] for bend in bends)


def note_name(number: int) -> str:
    """Return the name, spelt C C# D Eb E F F# G Ab A Bb B, with its octave; 69 is ``A4``."""
    return f"{NAMES[number % 12]}{number // 12 - 1}"


def hz_of_note(number: int, a4_hz: float) -> float:
    """Return the frequency in hertz of a note number in equal temperament with A4 at `a4_hz`."""
    return float(a4_hz * 2.0 ** ((number - _A4) / 12.0))


def cents_between(hz: float, reference_hz: float) -> float:
    """Return how many cents `hz` lies above `reference_hz` (negative: below); both greater than 0."""
    return 1200.0 * math.log2(hz / reference_hz)


def nearest_note(hz: float, a4_hz: float) -> int:
    """Return the number of the equal-tempered note nearest to `hz`, with A4 at `a4_hz`."""
    return _A4 + round(cents_between(hz, a4_hz) / 100.0)


def cents_from_note(hz: float, number: int, a4_hz: float) -> float:
    """Return how many cents `hz` lies above the note `number`, with A4 at `a4_hz`."""
    return cents_between(hz, hz_of_note(number, a4_hz))
