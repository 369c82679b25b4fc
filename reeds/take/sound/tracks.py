"""The level and pitch of a waveform over time: what every later step of the analysis looks at."""

from __future__ import annotations

import numpy as np

from reeds.take.sound.signals import HIGHEST_HZ, HOP_S, LOWEST_HZ, SILENCE_DB, Floats, Tracks, Waveform

PITCH_STEP_S = 0.005
ANALYSIS_HZ = 16000
_LOW_CUT_HZ = 150.0
# of the filter, as in `resample_poly`, times the larger of its two factors on each side
_FILTER_REACH = 10
_BLOCK_STEPS, _BLOCK_FRAMES = 1 << 9, 1 << 12
_LEVEL_WINDOW_S, _FAST_WINDOW_S = 0.012, 0.0025


def tracks_of(waveform: Waveform) -> Tracks:
    """Return level and pitch over time of a waveform of at least 0.2 s."""
    samples, rate = _analysis_samples(waveform)
    t: Floats = np.arange(_frame_count(samples, rate), dtype=np.float64) * HOP_S
    hz, strength = _pitch(samples, rate, t)
    level_db, fast_db = (_level(samples, rate, window_s) for window_s in (_LEVEL_WINDOW_S, _FAST_WINDOW_S))
    return Tracks(samples, rate, t, level_db, fast_db, hz, strength)


def _analysis_samples(waveform: Waveform) -> tuple[Floats, int]:
    from scipy import signal

    rate = min(waveform.rate_hz, ANALYSIS_HZ)
    samples = _brought_down(waveform)
    high_pass = signal.butter(4, _LOW_CUT_HZ, "highpass", fs=rate, output="sos")
    return np.asarray(signal.sosfiltfilt(high_pass, samples), dtype=np.float64), rate


def _brought_down(waveform: Waveform) -> Floats:
    """Return the samples at no more than `ANALYSIS_HZ`, brought there a few seconds at a time.

    Each block is taken with as much before and behind it as the filter of `resample_poly` reaches, so that
    what comes of it is what would come of the whole.
    """
    from scipy import signal

    samples = waveform.samples
    if waveform.rate_hz <= ANALYSIS_HZ:
        return samples.astype(np.float64)
    up, down = _ratio(waveform.rate_hz)
    most = max(up, down)
    beside = down * (1 + (_FILTER_REACH * most // up + 1) // down)
    low_pass = signal.firwin(2 * _FILTER_REACH * most + 1, 1.0 / most, window=("kaiser", 7.0))
    block, out = down * _BLOCK_STEPS, []
    for first in range(0, len(samples), block):
        begin = max(0, first - beside)
        part = samples[begin : first + block + beside].astype(np.float64)
        count = -(-min(block, len(samples) - first) * up // down)
        skip = (first - begin) // down * up
        out.append(signal.resample_poly(part, up, down, window=low_pass)[skip : skip + count])
    return np.concatenate(out)


def _ratio(rate: int) -> tuple[int, int]:
    common = int(np.gcd(rate, ANALYSIS_HZ))
    return ANALYSIS_HZ // common, rate // common


def _frame_count(samples: Floats, rate: int) -> int:
    return int(np.ceil(len(samples) / (HOP_S * rate)))


def _level(samples: Floats, rate: int, window_s: float) -> Floats:
    """Power under a raised cosine twice `window_s` long in all, every hop, in dB."""
    hop, half = HOP_S * rate, max(2, round(window_s * rate))
    window = np.hanning(2 * half + 1)
    padded = np.concatenate([np.zeros(half), samples**2, np.zeros(half + 1)])
    count = _frame_count(samples, rate)
    starts = np.minimum(np.round(np.arange(count) * hop).astype(int), len(samples))
    frames = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1)
    blocks = (starts[at : at + _BLOCK_FRAMES] for at in range(0, count, _BLOCK_FRAMES))
    power = np.concatenate([frames[block] @ (window / window.sum()) for block in blocks])
    return np.asarray(10.0 * np.log10(np.maximum(power, 10.0 ** (SILENCE_DB / 10.0))), dtype=np.float64)


def _pitch(samples: Floats, rate: int, t: Floats) -> tuple[Floats, Floats]:
    """Praat's pitch and its strength at the instants `t`; 0 and 0 where it finds none."""
    import parselmouth

    pitch = parselmouth.Sound(samples, rate).to_pitch_ac(
        time_step=PITCH_STEP_S,
        pitch_floor=LOWEST_HZ,
        pitch_ceiling=HIGHEST_HZ,
        max_number_of_candidates=8,
        silence_threshold=0.0,
        voicing_threshold=0.4,
        octave_cost=0.04,
        octave_jump_cost=0.5,
        voiced_unvoiced_cost=0.14,
    )
    found = pitch.selected_array
    nearest = np.clip(np.round((t - pitch.xs()[0]) / PITCH_STEP_S).astype(int), 0, len(pitch.xs()) - 1)
    far = np.abs(pitch.xs()[nearest] - t) > 2 * PITCH_STEP_S
    hz = np.where(far, 0.0, found["frequency"][nearest])
    return hz, np.where(hz > 0, found["strength"][nearest], 0.0)
