"""Puts a tone into the right octave by looking for the harmonics that only the right one has."""

from __future__ import annotations

import numpy as np

from reeds.take.sound.signals import HIGHEST_HZ, HOP_S, LOWEST_HZ, Floats, Tracks

# all calibrated; the shares and the ratio are of power
_LONGEST_S = 0.25
_HIGHEST_HARMONIC_HZ = 6000.0
_LOWER_SHARE, _UPPER_SHARE = 0.012, 0.004
_OVER_BACKGROUND_RATIO = 6.0


def octave_factor(tracks: Tracks, onset: int, end: int) -> float:
    """Return what to multiply Praat's pitch by over frames onset to end: 1, or 1/2, 2 or 3.

    An octave too high: the harmonics halfway between are there all the same. Too low, by an octave or a
    twelfth: only every second or third harmonic is there.
    """
    heard = tracks.hz[onset:end]
    heard = heard[heard > 0]
    hz = float(np.median(heard))
    f, power = _spectrum(tracks, onset, end, hz)
    if hz / 2.0 >= LOWEST_HZ and _present(f, power, hz / 2.0, 2, _LOWER_SHARE) is True:
        return 0.5
    for factor in (2, 3):
        if hz * factor <= HIGHEST_HZ and _present(f, power, hz, factor, _UPPER_SHARE) is False:
            return float(factor)
    return 1.0


def _spectrum(tracks: Tracks, onset: int, end: int, hz: float) -> tuple[Floats, Floats]:
    rate = tracks.rate_hz
    length = max(min((end - onset) * HOP_S, _LONGEST_S), 8.0 / hz)
    middle = (onset + end) * HOP_S / 2.0
    a = max(0, round((middle - length / 2.0) * rate))
    x = tracks.samples[a : a + round(length * rate)]
    size = 4 * (1 << int(np.ceil(np.log2(max(2, len(x))))))
    power = np.abs(np.fft.rfft(x * np.hanning(len(x)), size)) ** 2
    return np.fft.rfftfreq(size, 1.0 / rate).astype(np.float64), power.astype(np.float64)


def _present(f: Floats, power: Floats, base_hz: float, every: int, share: float) -> bool | None:
    """Whether harmonics of `base_hz` that are no multiples of `every` carry their share; None if untold."""
    count = int(min(_HIGHEST_HARMONIC_HZ, 0.95 * float(f[-1])) / base_hz)
    peaks = np.array([_peak(f, power, k * base_hz, base_hz) for k in range(1, count + 1)])
    between = np.array([_peak(f, power, (k + 0.5) * base_hz, base_hz) for k in range(1, count + 1)])
    numbers = np.arange(1, count + 1)
    in_question = numbers % every != 0
    if not in_question.any() or in_question.all():
        return None
    over = in_question & (peaks > _OVER_BACKGROUND_RATIO * between)
    return float(peaks[over].sum()) > share * float(peaks.sum())


def _peak(f: Floats, power: Floats, at_hz: float, base_hz: float) -> float:
    reach = 0.06 * base_hz
    a, b = np.searchsorted(f, [at_hz - reach, at_hz + reach])
    return float(power[a : max(b, a + 1)].max()) if a < len(power) else 0.0
