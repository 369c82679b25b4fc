"""Notes of a General MIDI sound font by FluidSynth: another oboe than the model's, and a piano."""

from __future__ import annotations

import struct
import tempfile
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np

from tests.rooms.reed import RATE
from tests.rooms.tools import FONT, said_by, samples_of

OBOE, PIANO = 68, 0
# guitar, church organ, violin, trumpet, clarinet
OTHERS = (24, 19, 40, 56, 71)
NOTE_S, EVERY_S = 3.0, 4.0
PHRASE_S = 16.0
_LOWEST, _HIGHEST = 58, 91
_TICKS_A_SECOND = 960

Event = tuple[float, bool, int, int]


@cache
def _oboe() -> np.ndarray:
    numbers = range(_LOWEST, _HIGHEST + 1)
    events = [event for i, number in enumerate(numbers) for event in _note(EVERY_S * i, NOTE_S, number, 90)]
    return _rendered(events, OBOE)


def oboe_note(number: int, seconds: float) -> np.ndarray:
    """A note of the font's oboe, unit RMS, its own attack, faded out over 50 ms."""
    first = round(EVERY_S * (number - _LOWEST) * RATE)
    x = _oboe()[first : first + round(min(seconds, NOTE_S) * RATE)]
    # the font begins a few milliseconds late
    x = x[int(np.argmax(np.abs(x) > 0.02 * np.abs(x).max())) :]
    fade = np.clip(np.arange(len(x))[::-1] / (0.05 * RATE), 0.0, 1.0)
    return x * fade / (np.sqrt(np.mean(x**2)) + 1e-12)


@cache
def _phrases(program: int, count: int = 8) -> np.ndarray:
    rng = np.random.default_rng(404 + program)
    events = [event for i in range(count) for event in _phrase(PHRASE_S * i, rng)]
    return _rendered(events, program)


def piano(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Some seconds out of invented piano phrases."""
    return _cut(_phrases(PIANO), seconds, rng)


def band(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """The same of an instrument with another attack and another decay, none of which set a constant."""
    return _cut(_phrases(int(rng.choice(OTHERS)), 4), seconds, rng)


def _cut(whole: np.ndarray, seconds: float, rng: np.random.Generator) -> np.ndarray:
    first = int(rng.integers(0, len(whole) - round((seconds + 3.0) * RATE)))
    return whole[first : first + round(seconds * RATE)]


def _phrase(start_s: float, rng: np.random.Generator) -> list[Event]:
    """A tune over broken chords of one key; no pause longer than half a second."""
    key, beat = int(rng.integers(0, 12)), float(rng.uniform(0.3, 0.6))
    events: list[Event] = []
    at = start_s
    while at < start_s + PHRASE_S - 1.0:
        root = key + int(rng.choice([0, 5, 7, 9]))
        for i, step in enumerate((0, 7, 12, 16)):
            events += _note(at + i * beat / 2, 1.5 * beat, 40 + root + step, 60)
        for i in range(2):
            tune = 64 + key + int(rng.choice([0, 2, 4, 5, 7, 9, 12]))
            events += _note(at + i * beat, beat, tune, int(rng.integers(60, 100)))
        at += 2 * beat
    return events


def _note(start_s: float, length_s: float, number: int, loud: int) -> list[Event]:
    return [(start_s, True, number, loud), (start_s + length_s, False, number, 0)]


def _rendered(events: Sequence[Event], program: int) -> np.ndarray:
    """FluidSynth without its own echo and chorus."""
    with tempfile.TemporaryDirectory() as folder:
        score, sound = Path(folder) / "in.mid", Path(folder) / "out.wav"
        score.write_bytes(_midi(events, program))
        words = ("-ni", "-q", "-R", "0", "-C", "0", "-g", "0.6", "-r", str(RATE), "-F", str(sound))
        said_by("fluidsynth", *words, str(FONT), str(score))
        return samples_of(sound.read_bytes(), RATE)


def _midi(events: Sequence[Event], program: int) -> bytes:
    """A standard MIDI file of one track: 480 ticks a quarter, 120 quarters a minute."""
    track, last = b"\x00" + bytes([0xC0, program]), 0
    for at_s, on, number, loud in sorted(events, key=lambda event: (event[0], event[1])):
        tick = round(at_s * _TICKS_A_SECOND)
        track += _delay(tick - last) + bytes([0x90 if on else 0x80, number, loud])
        last = tick
    track += _delay(_TICKS_A_SECOND) + b"\xff\x2f\x00"
    return b"MThd" + struct.pack(">IHHH", 6, 0, 1, 480) + b"MTrk" + struct.pack(">I", len(track)) + track


def _delay(ticks: int) -> bytes:
    """A number of ticks, seven bits a byte, the first bit of all but the last set."""
    out = [ticks & 0x7F]
    while ticks := ticks >> 7:
        out.insert(0, 0x80 | (ticks & 0x7F))
    return bytes(out)
