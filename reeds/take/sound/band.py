"""Which band a recording carries, and whether it is only a telephone's."""

from __future__ import annotations

from itertools import pairwise

from reeds.numbers.late import np
from reeds.take.sound.signals import Floats, Waveform

_BAND_DB = 40.0
_WINDOW, _MOST_WINDOWS = 2048, 200
_LOWEST_THIRD_HZ, _THIRDS = 62.5, 26
# a telephone's band ends at 3.4 kHz; above 5.2 kHz nothing of it is left
_MIDDLE_HZ, _OVER_HZ = (1000.0, 3000.0), (5200.0, 7000.0)
_LEAST_OVER_HZ = 200.0
# all calibrated: from the one to the other the noise of a full band falls 7 dB, and the loudest moment 50 dB
# at most; a telephone leaves little over the last of 16 bits, and then a smaller fall of the noise must do
_NOISE_FALLS_DB, _SOUND_FALLS_DB = 12.0, 36.0
_NOTHING_DB, _LAST_BIT_DB, _OVER_LAST_BIT_DB = -95.0, -99.0, 3.0
_NOISE_PERCENT, _LOUD_PERCENT = 10.0, 98.0


def carried_hz(waveform: Waveform) -> tuple[float, float]:
    """Return between which thirds of an octave the mean spectrum lies within 40 dB of its peak, in Hz."""
    f, windows = _spectra(waveform)
    nyquist = waveform.rate_hz / 2.0
    if not len(windows):
        return 0.0, nyquist
    power = windows.mean(axis=0)
    edges = _LOWEST_THIRD_HZ * 2.0 ** (np.arange(_THIRDS + 1) / 3.0)
    bands = [(a, b, power[(f >= a) & (f < b)]) for a, b in pairwise(edges)]
    loud = [(a, b, float(p.max())) for a, b, p in bands if len(p)]
    peak = max(p for _, _, p in loud)
    carried = [(a, b) for a, b, p in loud if p > peak * 10.0 ** (-_BAND_DB / 10.0)] if peak > 0 else []
    return (float(carried[0][0]), min(float(carried[-1][1]), nyquist)) if carried else (0.0, nyquist)


def is_telephone(waveform: Waveform) -> bool:
    """Whether the recording carries only a telephone's band.

    The noise of the pauses decides: it ends where the band ends, whatever the reed plays. A soft low note
    has hardly a partial over 5 kHz, so that partials only ever speak against it. Noise that cannot be heard
    decides nothing: then it is not said.
    """
    top = min(_OVER_HZ[1], 0.45 * waveform.rate_hz)
    if top < _OVER_HZ[0] + _LEAST_OVER_HZ:
        return True
    f, windows = _spectra(waveform)
    if not len(windows):
        return False
    middle, over = _level_db(f, windows, *_MIDDLE_HZ), _level_db(f, windows, _OVER_HZ[0], top)
    noise, noise_over = np.percentile(middle, _NOISE_PERCENT), np.percentile(over, _NOISE_PERCENT)
    enough = _OVER_LAST_BIT_DB if noise_over < _LAST_BIT_DB else _NOISE_FALLS_DB
    ends = noise_over < _NOTHING_DB and noise - noise_over > enough
    sound_falls = np.percentile(middle, _LOUD_PERCENT) - np.percentile(over, _LOUD_PERCENT)
    return bool(ends and sound_falls > _SOUND_FALLS_DB)


def _level_db(f: Floats, windows: Floats, low_hz: float, high_hz: float) -> Floats:
    """Mean level of each window from one frequency to another, dB re full scale a sample."""
    inside = (f >= low_hz) & (f < high_hz)
    level: Floats = 10.0 * np.log10(windows[:, inside].mean(axis=1) + 1e-16)
    return level


def _spectra(waveform: Waveform) -> tuple[Floats, Floats]:
    """Frequencies, and the power spectrum of windows strewn evenly over the recording."""
    size, taper = _WINDOW, np.hanning(_WINDOW)
    f = np.fft.rfftfreq(size, 1.0 / waveform.rate_hz).astype(np.float64)
    count = min(_MOST_WINDOWS, len(waveform.samples) // size)
    if count < 1:
        return f, np.zeros((0, len(f)))
    starts = np.linspace(0, len(waveform.samples) - size, count).astype(int)
    frames = np.lib.stride_tricks.sliding_window_view(waveform.samples, size)[starts] * taper
    power = np.abs(np.fft.rfft(frames, axis=1)) ** 2 / np.sum(taper**2)
    return f, power.astype(np.float64)
