"""ISO 16:1975 (A4 = 440 Hz) and equal temperament (general practice, not in ISO 16), as printed."""

import pytest

from reeds.numbers.notes import (
    NotANoteError,
    cents_between,
    cents_from_note,
    hz_of_note,
    nearest_note,
    note_name,
    parse_note,
)


def test_a4_is_440_hertz():
    assert hz_of_note(parse_note("A4"), 440.0) == 440.0


@pytest.mark.parametrize(
    ("name", "hz"), [("Bb3", 233.08), ("C4", 261.63), ("C5", 523.25), ("D6", 1174.66), ("A6", 1760.00)]
)
def test_equal_temperament_gives_the_printed_frequencies(name, hz):
    assert round(hz_of_note(parse_note(name), 440.0), 2) == hz
    assert note_name(nearest_note(hz, 440.0)) == name


def test_cents_of_just_intervals_are_the_printed_ones():
    """Just fifth 701.955, just major third 386.314, syntonic comma 21.506 (in A. J. Ellis's unit)."""
    assert cents_between(3, 2) == pytest.approx(701.955, abs=5e-4)
    assert cents_between(5, 4) == pytest.approx(386.314, abs=5e-4)
    assert cents_between(81, 80) == pytest.approx(21.506, abs=5e-4)


def test_442_lies_7_85_cents_over_440():
    assert cents_from_note(442.0, 69, 440.0) == pytest.approx(7.85, abs=0.005)


@pytest.mark.parametrize(
    ("one", "other"),
    [("A#3", "Bb3"), ("C#4", "Db4"), ("D#5", "Eb5"), ("Cb4", "B3"), ("f♯4", "G♭4"), ("E#4", "F4")],
)
def test_either_spelling_is_the_same_note(one, other):
    assert parse_note(one) == parse_note(other)


def test_names_are_spelt_one_way():
    spelt = [note_name(number) for number in range(60, 72)]
    assert spelt == ["C4", "C#4", "D4", "Eb4", "E4", "F4", "F#4", "G4", "Ab4", "A4", "Bb4", "B4"]


@pytest.mark.parametrize("word", ["", "H4", "A", "4", "A###4", "Do4", "A44"])
def test_what_is_no_note_is_refused_in_one_sentence(word):
    with pytest.raises(NotANoteError, match=r"^A note is written like"):
        parse_note(word)
