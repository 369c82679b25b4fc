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

# common practice in German: b is a semitone under h; the octave from c′, which is C4, has one stroke
GERMAN_NAMES = ("c", "cis", "d", "es", "e", "f", "fis", "g", "as", "a", "b", "h")
_STROKES = ("", "′", "″", "‴", "⁗")
_FLATS = {"e": "es", "a": "as"}
_GERMAN_STEPS = {"b": 10} | {
    name: step + bend
    for letter, step in {**{one.lower(): step for one, step in _STEPS.items() if one != "B"}, "h": 11}.items()
    for name, bend in ((letter, 0), (f"{letter}is", 1), (_FLATS.get(letter, f"{letter}es"), -1))
    if name != "hes"
}
_GERMAN_SPELLING = re.compile(r"\s*([A-Ha-h](?:is|es|s)?)([′'’´`″\"”‴]*|\d)\s*")
_STROKES_IN = {"″": 2, '"': 2, "”": 2, "‴": 3}
_SMALL_OCTAVE = 3


NO_NOTE = gettext_noop("A note is written like D4, F#5 or Bb3.")
MAY_BE_TWO = gettext_noop("“%(typed)s” may be two notes: write %(lower)s or %(higher)s.")


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
        raise NotANoteError(NO_NOTE)
    letter, bends, octave = found.groups()
    return 12 * (int(octave) + 1) + _STEPS[letter.upper()] + sum(_BENDS[bend] for bend in bends)


def read_note(word: str, *, german: bool = False) -> int:
    """Return the note number of a name as people write it: ``Bb3`` and ``F#5``, ``b``, ``fis″`` and ``H3``.

    What is a B is a question of who writes: ``B3`` of somebody who calls notes German, and ``b′`` of somebody
    who does not, may be two notes and are asked back.

    Parameters
    ----------
    word : str
        An English name with the number of its octave, or a German one with strokes or that number.
    german : bool
        Whether whoever writes calls notes German.

    Raises
    ------
    NotANoteError
        If the word is no note, or may be two.
    """
    english, found = _SPELLING.fullmatch(word), _GERMAN_SPELLING.fullmatch(word)
    name, mark = (found[1], found[2]) if found else ("", "")
    if name in ("b", "B") and mark and german is bool(english):
        b = 12 * (_octave_of(name, mark) + 1) + _GERMAN_STEPS["b"]
        raise NotANoteError(MAY_BE_TWO, typed=word.strip(), lower=b, higher=b + 1)
    if english:
        return parse_note(word)
    if name.lower() not in _GERMAN_STEPS or not (mark or german):
        raise NotANoteError(NO_NOTE)
    return 12 * (_octave_of(name, mark) + 1) + _GERMAN_STEPS[name.lower()]


def _octave_of(name: str, mark: str) -> int:
    """Return the octave that strokes or a digit name; a large letter without either is an octave lower."""
    if mark.isdigit():
        return int(mark)
    return _SMALL_OCTAVE + sum(_STROKES_IN.get(one, 1) for one in mark) - (not mark and name[0].isupper())


def german_name(number: int) -> str:
    """Return the German name with strokes for its octave; 69 is ``a′``, 58 ``b``, 59 ``h``, 46 ``B``."""
    name, above = GERMAN_NAMES[number % 12], number // 12 - 1 - _SMALL_OCTAVE
    if above < 0:
        return name.capitalize() + "," * (-above - 1)
    return name + (_STROKES[above] if above < len(_STROKES) else "′" * above)


def called(name: str, *, german: bool) -> str:
    """Return a name of `note_name` as the reader calls it; what names no note stays as it is."""
    if not german:
        return name
    try:
        return german_name(parse_note(name))
    except NotANoteError:
        return name


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
