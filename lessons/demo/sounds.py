"""Invented recordings: an oboe-like tone with air before it, a crow, a quiet or a noisy room."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.io import wavfile

Samples = NDArray[np.float64]

RATE = 16_000
A4_HZ = 442.0
QUIET, NOISY = 2e-4, 0.09
# steps above A4
STEPS = {"Bb3": -11, "B3": -10, "C4": -9, "D4": -7, "A4": 0, "C5": 3, "C6": 15, "D6": 17}
# how strong each harmonic is: a weak first, strongest near the third, as an oboe's spectrum looks
HARMONICS = (0.5, 0.9, 1.0, 0.7, 0.5, 0.4, 0.32, 0.26, 0.2, 0.18, 0.16, 0.14, 0.12, 0.11, 0.1, 0.1)
SIXTEENTHS = 4


@dataclass(frozen=True)
class Blow:
    """One attempt at a note: seconds, loudness 0 to 1; `spoke` False leaves only the air."""

    name: str
    seconds: float = 1.0
    cents: float = 0.0
    loud: float = 0.25
    air: float = 0.03
    attack: float = 0.03
    spoke: bool = True
    vibrato: float = 4.0
    swell: float = 1.0


def hz_of(name: str, cents: float = 0.0) -> float:
    """Return the frequency of one of the notes above, so many cents off equal temperament."""
    return float(A4_HZ * 2.0 ** ((100 * STEPS[name] + cents) / 1200))


def blown(blow: Blow, rng: np.random.Generator) -> Samples:
    """Return one attempt: air first, then the tone."""
    t = np.arange(int(blow.seconds * RATE)) / RATE
    air = rng.normal(0, 0.008, int(blow.air * RATE) + len(t))
    if not blow.spoke:
        return np.asarray(air * 1.5, float)
    hz = hz_of(blow.name, blow.cents)
    off = blow.vibrato * np.sin(2 * np.pi * 5.2 * t) + _wander(t, rng)
    turns = np.cumsum(hz * 2.0 ** (off / 1200)) / RATE
    parts = [
        share * np.sin(2 * np.pi * k * turns + k)
        for k, share in enumerate(HARMONICS, 1)
        if k * hz < 0.45 * RATE
    ]
    edge = np.clip(t / blow.attack, 0, 1) * np.clip((t[-1] - t) / 0.04, 0, 1)
    shape = blow.swell ** (np.sin(np.pi * t / t[-1]) - 1)
    tone = sum(parts) / 2.5 * edge * shape * blow.loud
    air[-len(t) :] += tone
    return np.asarray(air, float)


def _wander(t: Samples, rng: np.random.Generator) -> Samples:
    """A player's pitch in cents: not quite where it was meant, and moving a little."""
    knots = rng.normal(0, 1.2, int(t[-1] / 0.25) + 3)
    return np.asarray(rng.normal(0, 1.5) + np.interp(t, np.arange(len(knots)) * 0.25, knots), float)


def played(blows: Sequence[Blow], seed: int, gap: float = 0.35, room: float = QUIET) -> bytes:
    """Return a take of several attempts as a WAV file."""
    rng = np.random.default_rng(seed)
    pause = np.zeros(int(gap * RATE))
    pieces: list[Samples] = [np.zeros(RATE // 2)]
    for blow in blows:
        touch = rng.uniform(0.8, 1.4)  # no attack is quite like the one before
        pieces += [blown(replace(blow, attack=touch * blow.attack, air=touch * blow.air), rng), pause]
    return _wav(np.concatenate([*pieces, np.zeros(RATE // 3)]), rng, room)


def crowed(cents: float, seed: int, seconds: float = 1.8) -> bytes:
    """Return a crow: C5 and C6 at once, rattling, so many cents off."""
    rng = np.random.default_rng(seed)
    t = np.arange(int(seconds * RATE)) / RATE
    rattle = 1 + 0.25 * rng.normal(size=len(t))
    # two voices, the upper a little wide of the octave, so that it is one of its own
    tone = sum(np.sin(2 * np.pi * hz * t) for hz in (hz_of("C5", cents), hz_of("C6", cents + 8)))
    edge = np.clip(t / 0.05, 0, 1) * np.clip((t[-1] - t) / 0.05, 0, 1)
    sound = 0.12 * tone * rattle * edge + rng.normal(0, 0.004, len(t)) * edge
    silence = np.zeros(RATE // 2)
    return _wav(np.concatenate([silence, sound, silence]), rng, QUIET)


def staccato(a_minute: int, uneven: float, seed: int, cents: float = 0.0) -> bytes:
    """Return sixteenths on A4 at so many beats a minute, each early or late by a share of its length."""
    rng = np.random.default_rng(seed)
    step = 60.0 / a_minute / SIXTEENTHS
    count = 4 * SIXTEENTHS
    whole = np.zeros(int((count * step + 1.2) * RATE))
    for place in range(count):
        blow = Blow("A4", 0.55 * step, cents, air=0.0, attack=0.012, vibrato=0.0)
        note = blown(blow, rng)
        start = int((0.5 + place * step + rng.normal(0, uneven) * step) * RATE)
        whole[start : start + len(note)] += note
    return _wav(whole, rng, QUIET)


def _wav(samples: Samples, rng: np.random.Generator, room: float) -> bytes:
    hiss = rng.normal(0, room, len(samples))
    rumble = np.convolve(hiss, np.ones(40) / 12, "same")  # rooms are loudest below
    heard = np.clip(samples + hiss + rumble, -1, 1)
    out = io.BytesIO()
    wavfile.write(out, RATE, (heard * 32767).astype(np.int16))
    return out.getvalue()
