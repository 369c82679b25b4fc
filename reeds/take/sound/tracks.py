"""The level and pitch of a waveform over time: what every later step of the analysis looks at."""

from __future__ import annotations

import numpy as np

from reeds.take.sound.signals import HIGHEST_HZ, HOP_S, LOWEST_HZ, SILENCE_DB, Floats, Tracks, Waveform

PITCH_STEP_S = 0.005
ANALYSIS_HZ = 16000
_LOW_CUT_HZ = 150.0
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

    samples, rate = waveform.samples, waveform.rate_hz
    if rate > ANALYSIS_HZ:
        samples = signal.resample_poly(samples, *_ratio(rate), window=("kaiser", 7.0))
        rate = ANALYSIS_HZ
    high_pass = signal.butter(4, _LOW_CUT_HZ, "highpass", fs=rate, output="sos")
    return np.asarray(signal.sosfiltfilt(high_pass, samples), dtype=np.float64), rate


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
    frames = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1)[starts]
    power = frames @ (window / window.sum())
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
