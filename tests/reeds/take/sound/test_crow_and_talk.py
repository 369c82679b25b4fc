"""Somebody talks before or after a crow: the voice is none of its pitches, and is told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from reeds.take.sound.analysis import analyse
from reeds.take.sound.crow import _lines_of, crows_of
from reeds.take.sound.signals import HOP_S, Segment, Tracks, Waveform
from tests.simulate_sound import Blow, Room, hertz, record

LOW = Blow(hertz("C5"), 2.4, 1.5, level=0.2, tilt=1.5, wander=1.0)
HIGH = replace(LOW, hz=2 * LOW.hz * 1.01)
# syllables, now loud, now soft
TALK = [Blow(300.0 + 35 * (i % 4), 0.2 + 0.22 * i, 0.16, level=(0.15, 0.03)[i % 2]) for i in range(8)]


def heard(blows):
    sung = record(blows, 4.6, Room(pink_snr_db=25), np.random.default_rng(5))
    return analyse(Waveform(sung.samples - sung.samples.mean(), sung.rate), item="crow")


def test_a_voice_before_a_crow_is_told_and_is_none_of_its_pitches():
    told = heard([LOW, HIGH, *TALK])
    assert [pitch.name for pitch in told.item.pitches] == ["C5", "C6"]
    assert [one.kind for one in told.also if one.kind != "clicks"] == ["voices"]
    assert all(note.response_ms is None for note in told.notes)
    assert told.warnings == ()


def test_a_crow_alone_has_nothing_beside_it():
    told = heard([LOW, HIGH])
    assert told.also == ()
    assert [pitch.name for pitch in told.item.pitches] == ["C5", "C6"]


@pytest.mark.parametrize(
    ("lengths", "kept"),
    [((300, 200), [0, 1]), ((300, 100), [0]), ((100,), [0]), ((), [])],
)
def test_a_second_crow_at_least_half_as_long_is_one(lengths, kept):
    segments = [Segment(500 * i, 500 * i + 10, 500 * i + 10 + n) for i, n in enumerate(lengths)]
    level = np.full(1200, -20.0)
    tracks = Tracks(np.zeros(1), 16000, np.arange(1200) * HOP_S, level, level, level, level)
    assert crows_of(tracks, segments) == [[segments[i]] for i in kept]
    # pieces that touch are one crow; one that swings as talk does gives way to a steady one
    if len(lengths) == 2:
        joined = [segments[0], replace(segments[1], start=310, onset=320)]
        assert crows_of(tracks, joined) == [joined]
        level[10:310:20] = level[11:310:20] = level[12:310:20] = -45.0
        assert crows_of(tracks, segments) == [[segments[1]]]


def test_a_side_lobe_of_the_window_is_no_line():
    lines = [(217.8, -10.0), (435.6, -12.0), (445.0, -30.0)]
    assert _lines_of([(211.1, -41.5), *lines, (428.9, -43.5)]) == lines
