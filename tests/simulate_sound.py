"""A synthesiser of oboe-like takes with known truth; it shares no code with the estimator.

A note is additive: harmonics with formants and a weak fundamental, each with its own decay of level; the
pitch follows a stated curve. Truth is read from the curve itself, not from any analysis.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field, replace
from fractions import Fraction

import numpy as np

LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def hertz(name: str, a4: float = 440.0) -> float:
    """Equal temperament, written out by hand: letter, sharp or flat, octave."""
    step = LETTERS[name[0]] + name.count("#") - name[1:].count("b")
    return a4 * 2.0 ** ((step + 12 * (int(name[-1]) - 4) - 9) / 12.0)


@dataclass
class Blow:
    """One blown note: what the player does. Times in seconds, pitch in hertz and cents, level 0 to 1."""

    hz: float
    start: float
    length: float
    level: float = 0.3
    attack: float = 0.03
    release: float = 0.04
    shape: str = "linear"
    vibrato_cents: float = 0.0
    vibrato_hz: float = 5.5
    vibrato_phase: float = 0.0
    vibrato_level: float = 0.0
    drift: float = 0.0
    wander: float = 0.0
    scoop: float = 0.0
    breath_before: float = 0.0
    breath_level: float = 0.004
    breath_only: bool = False
    swell_db: float = 0.0
    tilt: float = 1.0
    weak_first_db: float = -12.0
    spectrum: str = "formants"
    restless: float = 0.0
    jitter: float = 0.0
    chiff: float = 0.0


@dataclass
class Room:
    """What lies between the reed and the file."""

    rate: int = 44100
    floor_level: float = 1e-4
    pink_snr_db: float | None = None
    band: tuple[float, float] | None = None
    reverb_s: float = 0.0
    reverb_db: float = -14.0
    hum: float = 0.0
    offset: float = 0.0


@dataclass
class Sung:
    """Samples with their truth: each note's mean pitch on its steady part, in cents about its nominal."""

    samples: np.ndarray
    rate: int
    blows: list[Blow]
    mean_cents: list[float] = field(default_factory=list)


def envelope(blow: Blow, t: np.ndarray) -> np.ndarray:
    """Amplitude of the note at times after its tone begins: rise, hold, fall."""
    up = np.clip(t / max(blow.attack, 1e-4), 0.0, 1.0)
    if blow.shape == "cosine":
        up = 0.5 - 0.5 * np.cos(np.pi * up)
    if blow.shape == "exponential":
        up = np.where(t >= 0, 1.0 - np.exp(-3.0 * np.maximum(t, 0.0) / max(blow.attack, 1e-4)), 0.0)
    down = np.clip((blow.length - t) / max(blow.release, 1e-4), 0.0, 1.0)
    swell = 10.0 ** (blow.swell_db * (np.sin(np.pi * np.clip(t / blow.length, 0, 1)) - 1.0) / 20.0)
    tremor = 1.0 + blow.vibrato_level * np.sin(2 * np.pi * blow.vibrato_hz * t + blow.vibrato_phase + 0.7)
    return up * down * swell * tremor


def pitch_curve(blow: Blow, t: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Cents about the nominal: vibrato, drift about the middle, slow wander, a scoop at the start."""
    cents = blow.vibrato_cents * np.sin(2 * np.pi * blow.vibrato_hz * t + blow.vibrato_phase)
    cents = cents + blow.drift * (t - blow.length / 2.0) - blow.scoop * np.exp(-np.maximum(t, 0) / 0.02)
    if blow.wander:
        knots = np.arange(t[0], t[-1] + 0.12, 0.1)
        cents = cents + np.interp(t, knots, rng.normal(0.0, blow.wander, len(knots)))
    if blow.restless:
        cents = cents + blow.restless * slow_noise(t, rng)
    if blow.jitter:
        cycles = np.floor((t - t[0]) * blow.hz).astype(int)
        cents = cents + rng.normal(0.0, blow.jitter, cycles[-1] + 1)[cycles]
    return cents


def slow_noise(t: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Of unit spread, its power falling as 1/f up to 20 Hz: a player's embouchure."""
    at = np.arange(t[0], t[-1] + 0.02, 0.01)
    f = np.fft.rfftfreq(2 * len(at), 0.01)
    lines = rng.normal(size=(2, len(f))) * np.where(
        (f > 0) & (f < 20.0), 1.0 / np.sqrt(np.maximum(f, 1e-9)), 0
    )
    noise = np.fft.irfft(lines[0] + 1j * lines[1])[: len(at)]
    return np.interp(t, at, noise / (noise.std() + 1e-12))


def harmonics(blow: Blow, rng: np.random.Generator, rate: int) -> list[tuple[int, float, float]]:
    """(number, amplitude, phase) of each: a weak first, formants near 1100 and 3000 Hz, then falling off.

    Other spectra: "saw" falls as 1/k, "square" has odd harmonics only, "few" has no more than five.
    """
    if blow.spectrum != "formants":
        most = 5 if blow.spectrum == "few" else 40
        ks = range(1, min(most, int(min(0.46 * rate, 16000) / blow.hz)) + 1)
        return [(k, 1.0 / k, rng.uniform(0, 2 * np.pi)) for k in ks if k % 2 or blow.spectrum != "square"]
    out = []
    for k in range(1, int(min(0.46 * rate, 10000) / blow.hz) + 1):
        f = k * blow.hz
        formant = np.exp(-(((f - 1100) / 500) ** 2)) + 0.5 * np.exp(-(((f - 3000) / 700) ** 2)) + 0.12
        level = formant / (1.0 + (f / 3500.0) ** 2) ** blow.tilt * 10 ** (rng.normal(0, 2.5) / 20)
        if k == 1 and blow.hz < 600:
            level *= 10 ** (blow.weak_first_db / 20.0)
        out.append((k, level, rng.uniform(0, 2 * np.pi)))
    return out


def breath(n: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    """Air noise of unit power: white, rolled off below 400 Hz and above 5 kHz."""
    spectrum = np.fft.rfft(rng.normal(size=n))
    f = np.fft.rfftfreq(n, 1.0 / rate)
    spectrum *= (f / 400.0) / np.sqrt(1 + (f / 400.0) ** 2) / (1 + (f / 5000.0) ** 2)
    noise = np.fft.irfft(spectrum, n)
    return noise / (noise.std() + 1e-12)


def pink(n: int, rate: int, rng: np.random.Generator) -> np.ndarray:
    """Noise of unit power whose power falls as 1/f from 20 Hz up."""
    spectrum = np.fft.rfft(rng.normal(size=n))
    f = np.fft.rfftfreq(n, 1.0 / rate)
    spectrum *= np.where(f > 20.0, 1.0 / np.sqrt(np.maximum(f, 20.0)), 0.0)
    noise = np.fft.irfft(spectrum, n)
    return noise / noise.std()


def sound_of(blow: Blow, n: int, rate: int, rng: np.random.Generator) -> tuple[np.ndarray, float]:
    """The note on a take of n samples, and the mean of its pitch curve while its level holds."""
    out = np.zeros(n)
    a = int((blow.start - blow.breath_before) * rate)
    b = min(n, int((blow.start + blow.length) * rate) + 1)
    air = breath(b - a, rate, rng) * blow.breath_level
    fade = np.minimum(1.0, np.arange(b - a) / (0.004 * rate)) * np.minimum(
        1.0, np.arange(b - a)[::-1] / (0.02 * rate)
    )
    if blow.breath_before or blow.breath_only or blow.breath_level:
        out[a:b] += air * fade
    if blow.breath_only:
        return out, float("nan")
    i = np.arange(int(np.ceil(blow.start * rate)), b)
    t = i / rate - blow.start
    cents = pitch_curve(blow, t, rng)
    turns = np.cumsum(blow.hz * 2.0 ** (cents / 1200.0)) / rate
    env = envelope(blow, t)
    tone = tone_of(harmonics(blow, rng, rate), turns, env)
    steady = (t > blow.attack) & (t < blow.length - blow.release)
    scale = np.sqrt((tone[steady] ** 2).mean()) if steady.any() else np.abs(tone).max()
    out[i] += tone * blow.level / (scale + 1e-12)
    out[i] += blow.chiff * blow.level * np.exp(-t / 0.012) * breath(len(t), rate, rng)
    if blow.vibrato_cents:
        cents = cents - blow.vibrato_cents * np.sin(2 * np.pi * blow.vibrato_hz * t + blow.vibrato_phase)
    # the settled part as it is defined: level within 3 dB and pitch within 20 cents of the note's medians
    near = np.abs(cents - np.median(cents)) <= 20.0
    settled = np.flatnonzero(near & (env >= np.median(env) * 10 ** (-3.0 / 20.0)))
    return out, float(cents[settled[0] : settled[-1] + 1].mean())


def tone_of(partials: list[tuple[int, float, float]], turns: np.ndarray, env: np.ndarray) -> np.ndarray:
    """Sum of the harmonics; up to the eighth each higher one follows the level more steeply."""
    tone, turned, steeper = np.zeros(len(turns)), np.ones(len(turns), dtype=complex), env.copy()
    turn, steep, last = np.exp(2j * np.pi * turns), env**0.08, 0
    for k, level, phase in partials:
        for _ in range(last, k):
            turned *= turn
        for _ in range(last, min(k, 8)):
            steeper *= steep
        tone += level * (turned * np.exp(1j * phase)).real * steeper
        last = k
    return tone


def reverberate(x: np.ndarray, rate: int, seconds: float, db: float, rng: np.random.Generator) -> np.ndarray:
    """Add a diffuse tail that falls 60 dB in `seconds`, `db` below the direct sound in total power."""
    m = int(seconds * rate)
    tail = rng.normal(size=m) * 10.0 ** (-3.0 * np.arange(m) / m)
    tail *= 10 ** (db / 20.0) / np.sqrt((tail**2).sum())
    tail[: int(0.003 * rate)] = 0.0
    size = 1 << int(np.ceil(np.log2(len(x) + m)))
    wet = np.fft.irfft(np.fft.rfft(x, size) * np.fft.rfft(tail, size), size)[: len(x)]
    return x + wet


def band_limit(x: np.ndarray, rate: int, low: float, high: float) -> np.ndarray:
    """A phone's band: 24 dB an octave outside low..high."""
    f = np.fft.rfftfreq(len(x), 1.0 / rate)
    gain = 1.0 / np.sqrt(1 + (low / np.maximum(f, 1e-3)) ** 8) / np.sqrt(1 + (f / high) ** 8)
    return np.fft.irfft(np.fft.rfft(x) * gain, len(x))


def record(blows: list[Blow], seconds: float, room: Room, rng: np.random.Generator) -> Sung:
    """Play the notes in the room and return the take with its truth."""
    return heard_in(room, play(blows, seconds, room.rate, rng), rng)


def play(blows: list[Blow], seconds: float, rate: int, rng: np.random.Generator) -> Sung:
    """Play the notes, with nothing between the reed and the file."""
    n = int(seconds * rate)
    x, means = np.zeros(n), []
    for blow in blows:
        one, mean = sound_of(blow, n, rate, rng)
        x += one
        means.append(mean)
    return Sung(x, rate, blows, means)


def heard_in(room: Room, sung: Sung, rng: np.random.Generator) -> Sung:
    """Put what was played into a room of the same rate."""
    x, blows, n = sung.samples, sung.blows, len(sung.samples)
    tone_power = np.median([b.level**2 for b in blows if not b.breath_only] or [0.01])
    if room.reverb_s:
        x = reverberate(x, room.rate, room.reverb_s, room.reverb_db, rng)
    x = x + breath(n, room.rate, rng) * room.floor_level
    if room.pink_snr_db is not None:
        x = x + pink(n, room.rate, rng) * np.sqrt(tone_power) * 10 ** (-room.pink_snr_db / 20.0)
    if room.hum:
        t = np.arange(n) / room.rate
        x = x + room.hum * sum(np.sin(2 * np.pi * 50 * k * t + k) / k for k in (1, 2, 3))
    if room.band:
        x = band_limit(x, room.rate, *room.band)
    return Sung(x + room.offset, room.rate, blows, sung.mean_cents)


def as_file(sung: Sung, codec: str, container: str, bit_rate: int = 0, sample_format: str = "") -> io.BytesIO:
    """Encode a take with FFmpeg's libraries into a file in memory."""
    import av

    out = io.BytesIO()
    with av.open(out, "w", format=container) as file:
        stream = file.add_stream(codec, rate=sung.rate)
        stream.layout = "mono"
        if bit_rate:
            stream.bit_rate = bit_rate
        if sample_format:
            stream.format = sample_format
        frame_data = np.clip(sung.samples, -1, 1).astype(np.float32)[None, :]
        resampler = av.AudioResampler(format=stream.format, layout="mono", rate=sung.rate)
        whole = av.AudioFrame.from_ndarray(frame_data, format="fltp", layout="mono")
        whole.sample_rate = sung.rate
        fifo = av.AudioFifo()
        for piece in resampler.resample(whole):
            fifo.write(piece)
        size, at = stream.codec_context.frame_size or 1024, 0
        while frame := fifo.read(size) or fifo.read():
            # with its place stated, the file says how much the encoder put before the first sample
            frame.pts, frame.time_base, at = at, Fraction(1, sung.rate), at + frame.samples
            file.mux(stream.encode(frame))
        file.mux(stream.encode(None))
    out.seek(0)
    return out


def wav(sung: Sung, sample_format: str = "s16") -> io.BytesIO:
    """A WAV of the take, 16 bits unless another format is named."""
    codec = {"s16": "pcm_s16le", "u8": "pcm_u8", "s32": "pcm_s24le"}[sample_format]
    return as_file(sung, codec, "wav", sample_format=sample_format)


def plain(name: str, a4: float = 440.0, **changes) -> Blow:
    """A note of one second half a second in."""
    return replace(Blow(hertz(name, a4), 0.5, 1.0), **changes)
