"""An oboe as pulses of a reed through the resonances of a tube: nothing of it comes from a sum of sines.

Each closing of the reed is one short pulse, placed between the samples; jitter moves it, shimmer changes its
size. An oscillation that starts grows exponentially out of very little until it is full, as a driven
oscillator does; before that there is air, with it there may be a crack of another pitch and the tongue.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import signal

RATE = 48000
STEP_S = 0.001
# an oscillation begins 40 dB below what it comes to; 3 dB below full is reached after so many time constants
_BEGINS_DB = -40.0
_CONSTANTS_TO_3_DB = 0.5 * np.log(10.0 ** (-_BEGINS_DB / 10.0) - 1.0)
_TAPS = 24
_BRIGHTER = 1.35
_BODY = signal.butter(2, 900.0, fs=RATE, output="sos")


@dataclass(frozen=True)
class Colour:
    """One player with one reed on one oboe: what all notes of a take have in common.

    `closing_hz`: over it the pulses lose 12 dB an octave; the softer the reed closes, the lower.
    """

    formants_hz: tuple[float, float, float]
    widths_hz: tuple[float, float, float]
    gains_db: tuple[float, float, float]
    body_db: float
    closing_hz: float
    hiss_db: float
    jitter: float
    shimmer: float


@dataclass(frozen=True)
class Stroke:
    """One attempt at a note. Seconds, cents, decibels re `level`, the tone's RMS.

    `spoke` False leaves only the air. `swell_db`: how much softer both ends are than the middle.
    `trill_db`, `vibrato_cents`: full swing of the level, half swing of the pitch.
    """

    hz: float
    number: int
    start_s: float
    length_s: float
    level: float = 0.1
    rise_s: float = 0.03
    fall_s: float = 0.04
    air_s: float = 0.06
    air_db: float = -28.0
    vibrato_hz: float = 5.5
    vibrato_cents: float = 0.0
    trill_db: float = 0.0
    scoop_cents: float = 0.0
    scoop_s: float = 0.02
    drift: float = 0.0
    restless: float = 0.0
    swell_db: float = 0.0
    crack_db: float | None = None
    spoke: bool = True


@dataclass(frozen=True)
class Curves:
    """What a tone does, every millisecond from its first instant: trends without vibrato, and with it."""

    t: np.ndarray
    trend_cents: np.ndarray
    trend_db: np.ndarray
    cents: np.ndarray
    db: np.ndarray


def a_colour(rng: np.random.Generator) -> Colour:
    return Colour(
        formants_hz=tuple(f * 2 ** rng.uniform(-0.12, 0.12) for f in (1080.0, 2900.0, 4700.0)),
        widths_hz=tuple(w * rng.uniform(0.7, 1.4) for w in (380.0, 650.0, 1100.0)),
        gains_db=tuple(g + rng.uniform(-3, 3) for g in (0.0, -9.0, -17.0)),
        body_db=rng.uniform(-16, -6),
        closing_hz=rng.uniform(1600, 3000),
        hiss_db=rng.uniform(-46, -36),
        jitter=10 ** rng.uniform(-3.7, -2.7),
        shimmer=rng.uniform(0.005, 0.03),
    )


def curves_of(stroke: Stroke, rng: np.random.Generator) -> Curves:
    t = np.arange(0.0, stroke.length_s, STEP_S)
    constant = stroke.rise_s / _CONSTANTS_TO_3_DB
    little = 10.0 ** (-_BEGINS_DB / 10.0) - 1.0
    grown_db = -10.0 * np.log10(1.0 + little * np.exp(-2.0 * np.minimum(t / constant, 300.0)))
    left = np.clip((stroke.length_s - t) / stroke.fall_s, 1e-3, 1.0)
    fallen_db = 40.0 * np.log10(np.sin(0.5 * np.pi * left))
    swell_db = -stroke.swell_db * np.abs(2.0 * t / stroke.length_s - 1.0)
    trend_db = grown_db + fallen_db + swell_db
    trend = stroke.drift * (t - stroke.length_s / 2.0) - stroke.scoop_cents * np.exp(-t / stroke.scoop_s)
    turn = 2.0 * np.pi * (stroke.vibrato_hz * t + rng.random())
    cents = trend + _restless(stroke.restless, len(t), rng) + stroke.vibrato_cents * np.sin(turn)
    db = trend_db + 0.5 * stroke.trill_db * np.sin(turn + rng.uniform(-0.8, 0.8))
    return Curves(t, trend, trend_db, cents, db)


def _restless(spread: float, n: int, rng: np.random.Generator) -> np.ndarray:
    """A pitch pulled about at random and always drawn back, with a memory of 0.15 s."""
    if not spread:
        return np.zeros(n)
    keep = np.exp(-STEP_S / 0.15)
    pulls = rng.normal(0.0, spread * np.sqrt(1.0 - keep**2), n)
    pulls[0] = rng.normal(0.0, spread)
    return signal.lfilter([1.0], [1.0, -keep], pulls)


def pulses(
    curves: Curves, hz: float, colour: Colour, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Instants (s) of the reed's closings, and the level (dB) that the tone is to have at each."""
    turns = np.cumsum(hz * 2.0 ** (curves.cents / 1200.0)) * STEP_S
    at = np.interp(np.arange(1.0, np.floor(turns[-1])), turns, curves.t + STEP_S)
    db = np.interp(at, curves.t, curves.db) + 20.0 * np.log10(1.0 + colour.shimmer * rng.normal(size=len(at)))
    return at + colour.jitter / hz * rng.normal(size=len(at)), db


def placed(at_s: np.ndarray, sizes: np.ndarray, n: int) -> np.ndarray:
    """A train of n samples with a band-limited pulse of each size at each instant, between the samples."""
    where = at_s * RATE
    first = np.floor(where).astype(int) - _TAPS // 2 + 1
    index = first[:, None] + np.arange(_TAPS)
    apart = index - where[:, None]
    taps = np.sinc(0.9 * apart) * np.cos(np.pi * apart / (_TAPS + 2.0)) ** 2 * sizes[:, None]
    inside = (index >= 0) & (index < n)
    return np.bincount(index[inside], taps[inside], n)[:n]


def _resonance(x: np.ndarray, hz: float, width_hz: float) -> np.ndarray:
    return signal.lfilter(*signal.iirpeak(hz, hz / width_hz, fs=RATE), x)


def through_tube(plain: np.ndarray, bright: np.ndarray, colour: Colour) -> np.ndarray:
    """Pulses through body and first resonance; the upper ones hear the bright train, stronger when loud."""
    closing = signal.butter(2, colour.closing_hz, fs=RATE, output="sos")
    plain, bright = signal.sosfilt(closing, np.array([plain, bright]))
    out = 10.0 ** (colour.body_db / 20.0) * signal.sosfilt(_BODY, plain)
    trains = (plain, bright, bright)
    for hz, width, gain, train in zip(
        colour.formants_hz, colour.widths_hz, colour.gains_db, trains, strict=True
    ):
        out += 10.0 ** (gain / 20.0) * _resonance(train, hz, width)
    # pulses of one sign have a constant part that no bell radiates
    return signal.sosfilt(signal.butter(2, 100.0, "highpass", fs=RATE, output="sos"), out)


def air(n: int, colour: Colour, rng: np.random.Generator) -> np.ndarray:
    """Air through the reed, unit RMS: hiss with the upper resonances in it."""
    white = rng.normal(size=n)
    hiss = sum(
        _resonance(white, hz, 2.0 * width)
        for hz, width in zip(colour.formants_hz[1:], colour.widths_hz[1:], strict=True)
    )
    hiss = hiss + 0.15 * signal.sosfilt(signal.butter(1, 500.0, "highpass", fs=RATE, output="sos"), white)
    return hiss / (hiss.std() + 1e-12)


def blown(stroke: Stroke, curves: Curves, colour: Colour, rng: np.random.Generator) -> np.ndarray:
    """One attempt from its first air on."""
    lead = round(stroke.air_s * RATE)
    n = lead + round(stroke.length_s * RATE) + round(0.03 * RATE)
    out = stroke.level * _air_of(stroke, n, lead, colour, rng)
    if not stroke.spoke:
        return out
    at, db = pulses(curves, stroke.hz, colour, rng)
    sizes = _sizes(db, stroke.hz, colour)
    tone = through_tube(*(placed(at, size, n - lead) for size in (sizes, sizes**_BRIGHTER)), colour)
    tone += _crack(stroke, n - lead, rng)
    out[lead:] += stroke.level * tone
    return out


def _sizes(db: np.ndarray, hz: float, colour: Colour) -> np.ndarray:
    """How large the pulses must be for a tone of these levels, 0 dB an RMS of 1: the upper resonances grow
    faster than the rest, so that level does not follow size alone."""
    at, n = np.arange(0.0, 0.4, 1.0 / hz), round(0.4 * RATE)
    train, silence = placed(at, np.ones(len(at)), n), np.zeros(n)
    plain, bright = (
        through_tube(*trains, colour)[n // 3 : -n // 10] for trains in ((train, silence), (silence, train))
    )
    size = 10.0 ** np.linspace(-9.0, 3.0, 400)
    louder = size ** (_BRIGHTER - 1.0)
    power = np.mean(plain**2) + 2.0 * np.mean(plain * bright) * louder + np.mean(bright**2) * louder**2
    return 10.0 ** np.interp(db, 10.0 * np.log10(power * size**2), np.log10(size))


def _air_of(stroke: Stroke, n: int, lead: int, colour: Colour, rng: np.random.Generator) -> np.ndarray:
    """The air of an attempt: before the tone as loud as said, under it the hiss of the reed."""
    gain = np.full(n, 10.0 ** ((stroke.air_db if not stroke.spoke else colour.hiss_db) / 20.0))
    gain[:lead] = 10.0 ** (stroke.air_db / 20.0)
    on = np.clip(np.arange(n) / (0.004 * RATE), 0.0, 1.0)
    off = np.clip((n - round(0.03 * RATE) - np.arange(n)) / (0.02 * RATE) + 1.0, 0.0, 1.0)
    return gain * on * off * air(n, colour, rng)


def _crack(stroke: Stroke, n: int, rng: np.random.Generator) -> np.ndarray:
    """The tongue's click, and a short voice of the reed alone that is no harmonic of the note."""
    if stroke.crack_db is None:
        return np.zeros(n)
    t = np.arange(n) / RATE
    own = np.sin(2.0 * np.pi * stroke.hz * rng.uniform(2.2, 3.4) * t) * np.exp(-t / 0.008)
    click = rng.normal(size=n) * np.exp(-t / 0.0012)
    return 10.0 ** (stroke.crack_db / 20.0) * (own + 0.5 * click)
