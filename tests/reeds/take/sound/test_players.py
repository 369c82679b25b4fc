"""Which tones are the player's: long, of an oboe's pitch, of this player's sound; what lies beside."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import signal

from reeds.take.sound.analysis import analyse
from reeds.take.sound.besides import Around, around
from reeds.take.sound.besides import Blown as Note
from reeds.take.sound.heard import Also, NotesSpoken
from reeds.take.sound.likeness import sounds_alike
from reeds.take.sound.players import could_be_notes
from reeds.take.sound.segments import noise_floor_db, segments_of
from reeds.take.sound.signals import Waveform
from reeds.take.sound.tracks import tracks_of
from tests.simulate_sound import Blow, Room, hertz, plain, record

LOW = ["D4", "C4", "B3", "Bb3"]
ASKED = {"item": "low_notes", "expect": [62, 60, 59, 58]}


def lows(names):
    return [plain(name, start=0.6 + 1.5 * i) for i, name in enumerate(names)]


def waveform(blows, seconds, extra=(), seed=1):
    sung = record(blows, seconds, Room(), np.random.default_rng(seed))
    samples = sung.samples.copy()
    for start_s, sound in extra:
        first = round(start_s * sung.rate)
        samples[first : first + len(sound)] += sound
    return Waveform(samples - samples.mean(), sung.rate)


def vowel(hz, length_s=0.35, level=0.1, rate=44100, seed=3):
    """A voice that holds a pitch: pulses a little early or late, through the formants of an 'oo'."""
    rng = np.random.default_rng(seed)
    n, at, x = round(length_s * rate), 0.0, np.zeros(round(length_s * rate))
    while at < n - 1:
        x[int(at)] = 1.0 + 0.1 * rng.normal()
        at += rate / hz * (1.0 + 0.02 * rng.normal())
    for centre, width in ((350.0, 80.0), (700.0, 120.0), (2400.0, 200.0)):
        x = x + 2.0 * signal.lfilter(*signal.iirpeak(centre, centre / width, fs=rate), x)
    low = signal.lfilter(*signal.butter(2, 900.0, fs=rate), x) * np.hanning(n) ** 0.3
    return level * low / low.std()


def segments(wave):
    tracks = tracks_of(wave)
    return segments_of(tracks, noise_floor_db(tracks))


def test_a_voice_that_holds_a_pitch_is_no_note_of_this_oboe():
    tracks, found = segments(waveform(lows(LOW[:3]), 7.0, [(5.5, vowel(231.0))]))
    at_s = [one.onset * 0.0025 for one in found if one.sounded]
    able = [can for can, one in zip(could_be_notes(tracks, found), found, strict=True) if one.sounded]
    assert at_s[-1] == pytest.approx(5.5, abs=0.1)
    assert able == [True, True, True, False]


def test_a_voice_does_not_answer_for_a_note_that_is_silent():
    told = analyse(waveform(lows(LOW[:3]), 7.0, [(5.5, vowel(231.0))]), **ASKED)
    assert told.item == NotesSpoken(4, 3)
    assert [note.sounded for note in told.notes] == [True, True, True, False]


def test_a_short_note_of_the_same_oboe_is_one():
    short = plain("E4", start=5.2, length=0.35)
    tracks, found = segments(waveform([*lows(LOW[:3]), short], 6.5))
    assert all(could_be_notes(tracks, found))


def test_without_a_long_tone_nothing_is_doubted():
    tracks, found = segments(waveform([plain("A4", length=0.3), plain("A4", start=1.5, length=0.3)], 2.5))
    assert sounds_alike(tracks, found) == [True, True]
    assert sounds_alike(tracks, []) == []


def test_a_hum_under_the_lowest_note_is_none_of_the_player():
    hum = Blow(hertz("A3"), 0.0, 6.9, level=0.05, attack=0.01, weak_first_db=6)
    told = analyse(waveform([hum, *lows(LOW)], 7.0), **ASKED)
    assert [(one.kind, one.hz) for one in told.also] == [("tone", pytest.approx(220, abs=3))]
    assert told.item == NotesSpoken(4, 4)
    assert all(note.response_ms is None for note in told.notes)


# --- what lies around a note -------------------------------------------------------------------------------

FREE = np.array([0.1, 0.2, 0.3, 0.4])


def test_where_no_pause_is_left_a_steady_tone_is_heard_under_the_notes():
    hum = Blow(hertz("A3"), 0.0, 6.9, level=0.05, attack=0.01, weak_first_db=6)
    rows = [(0.0, 2.0, "D4"), (2.0, 3.5, "C4"), (3.5, 5.0, "E4"), (5.0, 7.2, "F4")]
    tracks = tracks_of(waveform([hum, *lows(["D4", "C4", "E4", "F4"])], 7.0))
    beside = around(tracks, [Note(a, b, hertz(name)) for a, b, name in rows])
    assert [(one.kind, one.hz) for one in beside.also] == [("tone", pytest.approx(220, abs=3))]
    assert not beside.is_alone(0.55, 0.6)
    quiet = tracks_of(waveform(lows(["D4", "C4", "E4", "F4"]), 7.0))
    assert around(quiet, [Note(a, b, hertz(name)) for a, b, name in rows]).also == ()


def test_alone_is_a_note_after_a_pause_with_nothing_near():
    assert Around((), FREE).is_alone(0.5, 0.55)
    assert Around((), FREE).is_alone(2.5, 2.55)
    assert not Around((), FREE).is_alone(3.5, 3.55)
    assert not Around((), FREE[:1]).is_alone(0.5, 0.55)
    assert not Around((Also("voices", 0.9, 2.0),), FREE).is_alone(0.5, 0.55)
    assert Around((Also("voices", 1.2, 2.0),), FREE).is_alone(0.5, 0.55)


def test_who_talks_between_two_notes_may_talk_under_all_of_them():
    notes = [Note(0.5, 1.5, 294.0), Note(2.5, 3.5, 262.0), Note(4.5, 5.5, 247.0)]
    free = np.concatenate([FREE, FREE + 1.7, FREE + 3.7])
    for words, alone in (((1.7, 1.9), False), ((5.6, 9.0), True), ((-3.0, -0.1), True)):
        beside = Around((Also("voices", *words),), free, notes)
        assert beside.is_alone(4.5, 4.55) is alone
    assert Around((Also("clicks", 1.7, 1.9),), free, notes).is_alone(4.5, 4.55)


def test_in_a_row_of_strokes_the_pause_before_the_row_counts():
    row = Note(0.5, 3.0, 440.0)
    assert Around((), FREE, [row]).is_alone(2.0, 2.05)
    assert not Around((Also("voices", 0.0, 0.2),), FREE, [row]).is_alone(2.0, 2.05)


def test_notes_long_after_the_last_pause_have_no_response():
    names = ["D4", "C4", "B3", "Bb3"]
    legato = [plain(name, start=0.5 + 1.05 * i, length=1.04) for i, name in enumerate(names)]
    told = analyse(waveform(legato, 5.0))
    assert told.notes[0].response_ms is not None
    assert told.notes[3].response_ms is None


def test_talk_that_goes_on_softly_between_low_notes_takes_all_their_responses():
    rng = np.random.default_rng(5)
    words = [(0.1 + 0.4 * i, vowel(rng.uniform(150, 260), 0.25, 0.01, seed=i)) for i in range(16)]
    told = analyse(waveform(lows(LOW), 7.0, words), **ASKED)
    assert {one.kind for one in told.also} == {"voices"}
    assert all(note.response_ms is None for note in told.notes)


@pytest.mark.parametrize(("rings", "said"), [(False, True), (True, False)])
def test_a_few_lines_in_a_room_that_rings_may_be_its_own(rings, said):
    tracks = tracks_of(waveform([*lows(LOW), Blow(hertz("G4"), 6.6, 0.12, level=0.02)], 7.5))
    notes = [Note(0.6 + 1.5 * i, 1.6 + 1.5 * i, hertz(name)) for i, name in enumerate(LOW)]
    assert bool(around(tracks, notes, rings=rings).also) is said


def hiss(seed, seconds=0.2):
    return 0.01 * np.random.default_rng(seed).normal(size=round(seconds * 44100))


@pytest.mark.parametrize(("seconds", "told"), [(0.12, True), (0.34, False)])
def test_who_whispers_in_the_pauses_takes_the_responses_and_a_breath_in_them_does_not(seconds, told):
    """A whisper has no lines and is too long for a click: it is known by leaving no pause quiet."""
    air = [(1.66 + 1.5 * i, hiss(i, seconds)) for i in range(3)]
    heard = analyse(waveform(lows(LOW), 7.0, air), **ASKED)
    assert heard.also == ()
    assert all((note.response_ms is not None) is told for note in heard.notes)
    assert any("something else sounds" in warning for warning in heard.warnings) is not told


def test_a_note_that_gave_only_air_leaves_the_others_their_responses():
    blows = lows(LOW)
    blows[2] = replace(blows[2], breath_only=True, breath_level=0.01)
    heard = analyse(waveform(blows, 7.0), **ASKED)
    assert [note.response_ms is not None for note in heard.notes] == [True, True, False, True]


def test_after_a_voice_what_murmurs_on_counts_as_more_of_it():
    voice = [(0.05 + 0.2 * i, vowel(230.0 + 20 * i, 0.18, 0.02, seed=i)) for i in range(2)]
    murmurs = [(1.7 + 1.5 * i, hiss(i)) for i in range(3)]
    told = analyse(waveform(lows(LOW), 7.0, [*voice, *murmurs]), **ASKED)
    assert all(note.response_ms is None for note in told.notes)
    alone = analyse(waveform(lows(LOW), 7.0, murmurs), **ASKED)
    assert alone.also == ()


def test_who_talks_after_the_list_is_said_from_then_on_and_takes_no_response():
    """The last note gave only air, which goes on nearly until somebody talks: it is none of the talk."""
    blows = lows(LOW)
    blows[3] = replace(blows[3], breath_only=True, breath_level=0.01)
    words = [(7.0 + 0.3 * i, vowel(180.0 + 20 * i, 0.25, 0.03, seed=i)) for i in range(6)]
    told = analyse(waveform(blows, 9.5, words), **ASKED)
    (voices,) = (one for one in told.also if one.kind == "voices")
    assert voices.start_s == pytest.approx(7.0, abs=0.3)
    assert [note.response_ms is not None for note in told.notes] == [True, True, True, False]
