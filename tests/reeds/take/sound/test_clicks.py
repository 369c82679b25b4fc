"""Clicks and knocks beside the notes: told with their time, near a note its response is not."""

import numpy as np
import pytest

from reeds.take.sound.analysis import analyse
from reeds.take.sound.clicks import clicks_of
from reeds.take.sound.heard import Also, Heard
from reeds.take.sound.signals import Waveform
from reeds.take.sound.tracks import tracks_of
from tests.simulate_sound import Room, plain, record


def click(level=0.1, rate=44100):
    t = np.arange(round(0.04 * rate)) / rate
    return level * np.sin(2 * np.pi * 1700.0 * t) * np.exp(-t / 0.006)


def heard(at_s, blows=None, sound=None, **asked):
    blows = blows or [plain("D4", start=1.5, length=1.0), plain("C4", start=4.5, length=1.0)]
    sung = record(blows, 7.0, Room(), np.random.default_rng(1))
    samples = sung.samples.copy()
    for one in at_s:
        first = round(one * sung.rate)
        knock = click() if sound is None else sound
        samples[first : first + len(knock)] += knock
    return analyse(Waveform(samples - samples.mean(), sung.rate), **asked)


def spans(told):
    return [(one.kind, round(one.start_s, 1), int(10 * one.end_s) / 10) for one in told.also]


def test_clicks_are_told_and_those_that_follow_each_other_are_one():
    assert spans(heard([0.4, 0.8])) == [("clicks", 0.4, 0.8)]
    assert spans(heard([0.4, 6.4])) == [("clicks", 0.4, 0.4), ("clicks", 6.4, 6.4)]


def test_without_clicks_none_is_told_whatever_the_attacks_are():
    blows = [plain("A4", start=0.6 + 0.9 * i, length=0.6, attack=0.004, release=0.01) for i in range(6)]
    assert heard([], blows).also == ()


def test_what_lasts_is_no_click():
    rng = np.random.default_rng(2)
    assert spans(heard([0.4], sound=0.02 * rng.normal(size=13000))) == []


def test_a_click_takes_the_response_only_of_the_note_it_is_near():
    told = heard([4.3])
    assert told.notes[0].response_ms is not None
    assert told.notes[1].response_ms is None
    assert any("something else sounds" in warning for warning in told.warnings)


@pytest.mark.parametrize(("kind", "disturbed"), [("clicks", False), ("voices", True), ("tone", True)])
def test_a_click_is_never_taken_for_the_reed_but_a_voice_may_be(kind, disturbed):
    assert Heard(also=(Also(kind, 0.0, 1.0),)).is_disturbed is disturbed


def test_strokes_are_counted_over_a_metronome():
    strokes = [plain("A4", start=0.9 + 0.2 * i, length=0.12, attack=0.008) for i in range(12)]
    told = heard([0.2 + 0.8 * i for i in range(8)], strokes, item="staccato")
    assert told.item.count == 12
    assert [one.kind for one in told.also] == ["clicks", "clicks"]


def test_what_belongs_to_a_note_is_no_click():
    sung = record([plain("D4", start=4.0)], 6.0, Room(), np.random.default_rng(1))
    sung.samples[88200 : 88200 + len(click())] += click()
    tracks = tracks_of(Waveform(sung.samples, sung.rate))
    assert [round(one.start_s, 1) for one in clicks_of(tracks, [(4.0, 5.6)])] == [2.0]
    assert clicks_of(tracks, [(1.9, 2.3), (4.0, 5.6)]) == ()
