"""German names of notes with Helmholtz's octaves: b is B flat, h is B, c′ middle C, as any primer has it."""

import pytest

from reeds.numbers.notes import (
    MAY_BE_TWO,
    NotANoteError,
    called,
    german_name,
    hz_of_note,
    note_name,
    parse_note,
    read_note,
)

# name, English name, hertz at 440 as printed in tables of equal temperament
PRINTED = [
    ("b", "Bb3", 233.08),
    ("h", "B3", 246.94),
    ("c′", "C4", 261.63),
    ("cis′", "C#4", 277.18),
    ("es′", "Eb4", 311.13),
    ("fis′", "F#4", 369.99),
    ("as′", "Ab4", 415.30),
    ("a′", "A4", 440.00),
    ("b′", "Bb4", 466.16),
    ("h′", "B4", 493.88),
    ("c″", "C5", 523.25),
    ("es‴", "Eb6", 1244.51),
    ("a‴", "A6", 1760.00),
]
KEYBOARD = ["c′", "cis′", "d′", "es′", "e′", "f′", "fis′", "g′", "as′", "a′", "b′", "h′"]


@pytest.mark.parametrize(("german", "english", "hz"), PRINTED)
def test_either_name_is_of_the_printed_frequency(german, english, hz):
    number = read_note(german, german=True)
    assert round(hz_of_note(number, 440.0), 2) == hz
    assert (note_name(number), german_name(number)) == (english, german)
    assert called(english, german=True) == german
    assert called(english, german=False) == english


def test_an_octave_is_spelt_one_way():
    assert [german_name(number) for number in range(60, 72)] == KEYBOARD
    assert [german_name(number) for number in (12, 24, 36, 46, 108)] == ["C,,", "C,", "C", "B", "c′′′′′"]


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("c'", "C4"), ("c''", "C5"), ('fis"', "F#5"), ("a`", "A4"), ("C’", "C4"), ("es′", "Eb4"),
        ("ces'", "B3"), ("his", "C4"), ("ges′", "F#4"), ("Es5", "Eb5"), ("H3", "B3"), ("F#5", "F#5"),
        ("Bb3", "Bb3"),
    ],
)  # fmt: skip
def test_either_way_of_writing_is_understood_whatever_notes_are_called(typed, name):
    understood = {note_name(read_note(typed, german=True))}
    if typed != "his":  # without an octave it is German alone
        understood.add(note_name(read_note(typed)))
    assert understood == {name}


@pytest.mark.parametrize(
    ("typed", "german", "meant"),
    [("b′", True, "Bb4"), ("b", True, "Bb3"), ("B4", False, "B4"), ("b4", False, "B4")],
)
def test_a_b_is_what_whoever_writes_it_calls_b(typed, german, meant):
    assert note_name(read_note(typed, german=german)) == meant


@pytest.mark.parametrize(
    ("typed", "german", "lower"), [("B4", True, "Bb4"), ("b′", False, "Bb4"), ("b''", False, "Bb5")]
)
def test_a_b_in_the_others_way_of_writing_is_asked_back(typed, german, lower):
    with pytest.raises(NotANoteError) as asked:
        read_note(typed, german=german)
    assert asked.value.sentence == MAY_BE_TWO
    assert asked.value.params["lower"] == parse_note(lower)
    assert asked.value.params["higher"] == parse_note(lower) + 1


@pytest.mark.parametrize("typed", ["", "hes", "aes′", "ds′", "bis′", "j′", "c′4", "4", "do", "h#3"])
def test_what_is_no_note_is_none(typed):
    for german in (True, False):
        with pytest.raises(NotANoteError):
            read_note(typed, german=german)


def test_what_names_no_note_stays_as_it_is():
    assert called("", german=True) == ""
    assert called("?", german=True) == "?"
