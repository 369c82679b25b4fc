"""What else sounds where somebody plays: voices, a piano next door, clicks, keys, breaths, hum, noise."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
from scipy import signal

from tests.rooms import font
from tests.rooms.reed import RATE
from tests.rooms.tools import said_by, samples_of

VOICES = ("en-us", "en-gb", "en-gb-scotland", "en-us+f3", "en-gb+f5", "en-us+m3", "en-gb+m7")
# none of these set a constant: another way of making voices, hoarse, whispered, high, other languages
OTHER_VOICES = (
    *(f"en-us+{kind}" for kind in ("klatt4", "croak", "whisper", "grandma", "Andrea", "max")),
    *("de", "fr-be", "it", "pl", "fi+f4", "cmn"),
)
SENTENCES = (
    "So, this is the second one that I tied yesterday evening.",
    "Now I am going to play the low notes, as softly as I can.",
    "Could you close the door, please? I am recording.",
    "Wait a moment, the telephone lies on the other side.",
    "It feels a little stuffy, but the middle register is fine.",
    "Sorry, that was the wrong one, I will begin once more.",
    "One, two, three, and now from the beginning.",
    "There is soup on the stove if anybody is hungry.",
    "I soaked it for ten minutes in warm water before that.",
    "That was the last one, and I think it went well.",
)


@cache
def _sentence(voice: str, sentence: int) -> np.ndarray:
    words = ("-v", voice, "-s", str(150 + 5 * (sentence % 4)), "-p", str(40 + 7 * (sentence % 3)), "--stdout")
    x = samples_of(said_by("espeak-ng", *words, SENTENCES[sentence]), RATE)
    loud = np.flatnonzero(np.abs(x) > 0.02 * np.abs(x).max())
    return x[loud[0] : loud[-1] + 1]


def speech(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """One person who speaks all the time, with short pauses."""
    return _spoken(seconds, str(rng.choice(VOICES)), rng)


def other_speech(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """The same in a voice of another kind."""
    return _spoken(seconds, str(rng.choice(OTHER_VOICES)), rng)


def _spoken(seconds: float, voice: str, rng: np.random.Generator) -> np.ndarray:
    said: list[np.ndarray] = []
    while sum(map(len, said)) < seconds * RATE:
        said += [
            _sentence(voice, int(rng.integers(len(SENTENCES)))),
            np.zeros(round(rng.uniform(0.1, 0.4) * RATE)),
        ]
    return np.concatenate(said)[: round(seconds * RATE)]


def babble(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Six people at once."""
    return sum((speech(seconds, rng) for _ in range(6)), np.zeros(round(seconds * RATE)))


def piano(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Piano phrases through a wall: the more, the higher."""
    return _through_wall(font.piano(seconds, rng), rng)


def band(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Guitar, organ, violin, trumpet or clarinet through the same wall."""
    return _through_wall(font.band(seconds, rng), rng)


def _through_wall(x: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    for corner in (rng.uniform(250.0, 500.0), rng.uniform(1200.0, 2000.0)):
        x = signal.sosfilt(signal.butter(1, corner, fs=RATE, output="sos"), x)
    return x


def metronome(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Clicks of 15 ms at 60 to 120 a minute, every fourth one higher."""
    hz, every = rng.uniform(1200.0, 2600.0), 60.0 / rng.uniform(60.0, 120.0)
    t = np.arange(round(0.05 * RATE)) / RATE
    clicks = [np.sin(2 * np.pi * hz * up * t) * np.exp(-t / 0.006) for up in (1.33, 1.0, 1.0, 1.0)]
    starts = np.arange(rng.uniform(0.0, every), seconds - 0.05, every)
    return _strewn(seconds, [(start, clicks[i % 4]) for i, start in enumerate(starts)])


def keys(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Pads and keys that close: short knocks of many pitches, now and then."""
    starts = np.cumsum(rng.uniform(0.2, 0.9, round(seconds / 0.2)))
    return _strewn(seconds, [(start, _knock(rng)) for start in starts if start < seconds - 0.06])


def _knock(rng: np.random.Generator) -> np.ndarray:
    t = np.arange(round(0.06 * RATE)) / RATE
    ringing = [
        rng.uniform(0.3, 1.0)
        * np.sin(2 * np.pi * rng.uniform(300.0, 3500.0) * t + rng.uniform(0, 6.28))
        * np.exp(-t / rng.uniform(0.002, 0.008))
        for _ in range(5)
    ]
    return rng.uniform(0.3, 1.0) * np.sum(ringing, axis=0)


def breaths(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Air drawn in every two or three seconds, for a third of a second."""
    gaps = rng.uniform(1.5, 3.0, round(seconds))
    starts = rng.uniform(0.1, 0.6) + np.cumsum(gaps) - gaps[0]
    return _strewn(seconds, [(start, _breath(rng)) for start in starts if start < seconds - 0.6])


def _breath(rng: np.random.Generator) -> np.ndarray:
    n = round(rng.uniform(0.25, 0.5) * RATE)
    band = (rng.uniform(300.0, 700.0), rng.uniform(2500.0, 5000.0))
    rush = signal.sosfilt(signal.butter(2, band, "bandpass", fs=RATE, output="sos"), rng.normal(size=n))
    return rush * np.sin(np.pi * np.arange(n) / n) ** 1.5


def _strewn(seconds: float, events: list[tuple[float, np.ndarray]]) -> np.ndarray:
    out = np.zeros(round(seconds * RATE))
    for start, event in events:
        first = round(start * RATE)
        part = event[: len(out) - first]
        out[first : first + len(part)] += part
    return out


def tone(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """A steady tone of 220 Hz, as of a fan or a transformer, with two weak harmonics."""
    t = np.arange(round(seconds * RATE)) / RATE
    return sum(
        a * np.sin(2 * np.pi * 220.0 * k * t + rng.uniform(0, 6.28))
        for k, a in ((1, 1.0), (2, 0.3), (3, 0.1))
    )


def pink(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Noise that falls 3 dB an octave: white noise through first-order shelves an octave and a half apart."""
    x = rng.normal(size=round(seconds * RATE))
    # no microphone of a phone carries what lies lower
    x = signal.sosfilt(signal.butter(2, 50.0, "highpass", fs=RATE, output="sos"), x)
    for corner in 20.0 * 8.0 ** np.arange(0, 4):
        b, a = signal.bilinear(
            [1.0 / (2 * np.pi * corner * 2.83), 1.0], [1.0 / (2 * np.pi * corner), 1.0], RATE
        )
        x = signal.lfilter(b, a, x)
    return x


SOUNDS: dict[str, Callable[[float, np.random.Generator], np.ndarray]] = {
    "speech": speech,
    "other speech": other_speech,
    "babble": babble,
    "piano": piano,
    "band": band,
    "metronome": metronome,
    "keys": keys,
    "breaths": breaths,
    "tone": tone,
    "pink": pink,
}


def loudness(x: np.ndarray) -> float:
    """RMS over the stretches of 20 ms that lie within 20 dB of the loudest: pauses count for nothing."""
    size = round(0.02 * RATE)
    power = (x[: len(x) // size * size].reshape(-1, size) ** 2).mean(axis=1)
    return float(np.sqrt(power[power >= power.max() / 100.0].mean() + 1e-30))
