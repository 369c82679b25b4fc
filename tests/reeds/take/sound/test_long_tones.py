"""One long tone is one, whatever its level does; the voices of a crow are lines of their own."""

import numpy as np
import pytest

from reeds.take.sound.analysis import analyse
from reeds.take.sound.segments import unparted
from reeds.take.sound.signals import Segment, Tracks, Waveform
from tests.simulate_sound import Blow, Room, record


def tracks_at(hz):
    zeros = np.zeros(len(hz))
    return Tracks(np.zeros(10), 16000, 0.0025 * np.arange(len(hz)), zeros, zeros, np.array(hz), zeros)


TWO = [Segment(0, 10, 100), Segment(100, 100, 200)]


def test_tones_of_one_pitch_that_touch_are_one_where_one_is_asked_for():
    assert unparted(tracks_at([440.0] * 200), TWO) == [Segment(0, 10, 200)]


@pytest.mark.parametrize(
    ("hz", "segments"),
    [
        ([440.0] * 100 + [470.0] * 100, TWO),
        ([440.0] * 200, [Segment(0, 10, 60), Segment(110, 110, 200)]),
        ([440.0] * 200, [Segment(0, 10, 100), Segment(100, 200, 200)]),
    ],
)
def test_another_pitch_a_pause_and_air_are_left_apart(hz, segments):
    assert unparted(tracks_at(hz), segments) == segments
    assert unparted(tracks_at(hz), []) == []


def heard(blows, seconds, item):
    sung = record(blows, seconds, Room(pink_snr_db=20), np.random.default_rng(1))
    return analyse(Waveform(sung.samples - sung.samples.mean(), sung.rate), item=item)


def test_a_tone_that_is_tongued_within_a_long_tone_is_still_one_tone():
    parts = [Blow(440.0, 0.5 + 0.8 * i, 0.79, attack=0.02, release=0.02) for i in range(4)]
    assert len(heard(parts, 4.5, "long_tone").notes) == 1
    assert len(heard(parts, 4.5, "third_octave").notes) == 4


def test_the_highest_voice_of_a_crow_is_not_the_lowest_ones_fourth_line():
    voices = (259.5, 510.6, 1020.2)
    blows = [Blow(hz, 0.5, 1.5, level=0.2, weak_first_db=6, tilt=3) for hz in voices]
    found = [pitch.hz for pitch in heard(blows, 2.5, "crow").item.pitches]
    assert found == [pytest.approx(hz, rel=0.004) for hz in voices]
