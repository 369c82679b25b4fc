"""Uncertainty of the figures of a settled tone: phase noise, and what happens at the ends of the tone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reeds.numbers.measured import Measured
from reeds.take.sound.signals import FINE_STEP_S, Floats

# calibrated: where the phase's noise is looked for, and how long stretches are that count as independent
_NOISE_BAND_HZ = (3.0, 14.0)
_BLOCK_S = 0.1
_WINDOWS_BETWEEN = 8
# the window of `Tracks.level_db`
_LEVEL_WINDOW_S = 0.012
# of a median of normal scatter against a mean, sqrt(pi / 2) (common knowledge of statistics)
_MEDIAN_RATIO = 1.2533


def phase_noise(residual: Floats, window_s: float) -> float:
    """Return b of the spectrum b f squared that noise in the phase leaves in the pitch.

    A phase that is heard with an error of any bounded kind gives a pitch whose error grows with frequency;
    what moves slowly is the player, so only 3 to 14 Hz are looked at.

    Parameters
    ----------
    residual : ndarray, shape (n,)
        Cents every 5 ms without drift and vibrato.
    window_s : float
        Length of the raised cosine under which each phase was read, seconds.

    Returns
    -------
    float
        b, in cents squared over hertz squared.
    """
    n = len(residual)
    taper = np.hanning(n + 2)[1:-1]
    f = np.fft.rfftfreq(n, FINE_STEP_S)
    power = np.abs(np.fft.rfft(residual * taper)) ** 2 / np.sum(taper**2)
    length_s = n * FINE_STEP_S
    used = (f > max(_NOISE_BAND_HZ[0], 2.5 / length_s)) & (f <= max(_NOISE_BAND_HZ[1], 4.0 / length_s))
    if used.sum() < 2:
        used = f > 0
    lines: Floats = f[used].astype(np.float64)
    gain = _window_gain(lines * window_s)
    # neighbouring lines of a raised cosine share half their power: two thirds of them count
    few = 1.0 + 1.5 / float(used.sum())
    return few * float(np.mean(power[used] / (gain * lines) ** 2))


def _window_gain(turns: Floats) -> Floats:
    """Gain of a raised cosine for a wave that makes so many turns within it."""
    gain: Floats = np.sinc(turns) / (1.0 - np.minimum(turns, 0.9) ** 2)
    return gain


def noise_gain(weights: Floats, window_s: float) -> float:
    """Return the variance of a weighted sum of fine pitch per unit of b of `phase_noise`.

    Parameters
    ----------
    weights : ndarray, shape (n,)
        Of the instants every 5 ms.
    window_s : float
        As for `phase_noise`; it ends the spectrum.
    """
    size = 8 * len(weights)
    f = np.fft.rfftfreq(size, FINE_STEP_S)
    gain = np.abs(np.fft.rfft(weights, size)) ** 2 * np.where(f > 0, 2.0, 1.0) / size
    return float(np.sum(gain * f**2 * (f < 1.0 / window_s)))


@dataclass(frozen=True)
class Excursions:
    """How far the phase strays from where the middle of a tone leads it, in cents times seconds.

    Attributes
    ----------
    begin, end : float
        At the two ends of the tone.
    between : float
        Root mean square over stretches in between.
    """

    begin: float
    end: float
    between: float


def phase_excursions(t: Floats, cents: Floats) -> Excursions:
    """Return how far the phase strays from where the middle of a tone leads it.

    A scoop, a fall, an echo that builds up: each turns the phase at an end by so much and no more.

    Parameters
    ----------
    t, cents : ndarray, shape (n,)
        Seconds and cents every 5 ms, without vibrato.
    """
    n = len(t)
    reach, edge = max(2, n // 4), n // 5
    line = np.polyfit(t[edge : n - edge], cents[edge : n - edge], 1)
    off = (cents - np.polyval(line, t)) * FINE_STEP_S
    starts = np.unique(np.linspace(edge, max(edge, n - edge - reach), _WINDOWS_BETWEEN).astype(int))
    between = [_farthest(off[start : start + reach]) for start in starts]
    mean_square = np.mean(np.square(between))
    return Excursions(_farthest(off[:reach]), _farthest(off[::-1][:reach]), float(np.sqrt(mean_square)))


def _farthest(off: Floats) -> float:
    return float(np.abs(np.cumsum(off)).max())


def standard_deviation(off: Floats, noise: float, window_s: float) -> Measured:
    """Return the standard deviation of deviations every 5 ms, with its uncertainty.

    The uncertainty is how much stretches of 100 ms differ in it, and what phase noise adds.

    Parameters
    ----------
    off : ndarray, shape (n,)
        Deviations, cents.
    noise, window_s : float
        What `phase_noise` returns, and its window.
    """
    value = float(np.std(off))
    if value == 0.0:
        return Measured(0.0, 0.0)
    by_chance = _error_of_mean(_block_means((off - off.mean()) ** 2)) / (2.0 * value)
    one = np.zeros(max(8, len(off)))
    one[len(one) // 2] = 1.0
    without = max(0.0, value**2 - noise * noise_gain(one, window_s))
    return Measured(value, min(value, float(np.hypot(by_chance, value - np.sqrt(without)))))


def slope_uncertainty(residual: Floats, noise: float, window_s: float) -> float:
    """Return the standard uncertainty of a straight line's slope, cents a second.

    Parameters
    ----------
    residual : ndarray, shape (n,)
        What the fit leaves every 5 ms, cents.
    noise, window_s : float
        What `phase_noise` returns, and its window.
    """
    n = len(residual)
    t = (np.arange(n) - (n - 1) / 2.0) * FINE_STEP_S
    by_noise = np.sqrt(noise * noise_gain(t / np.sum(t**2), window_s))
    blocks = _block_means(residual)
    centres = (np.arange(len(blocks)) - (len(blocks) - 1) / 2.0) * n * FINE_STEP_S / len(blocks)
    if len(blocks) < 3:
        return float(np.hypot(by_noise, np.std(residual) / max(FINE_STEP_S, float(np.std(t)))))
    scatter = np.sqrt(np.sum(blocks**2) / (len(blocks) - 2) / np.sum(centres**2))
    return float(np.hypot(by_noise, scatter))


def median_level(level_db: Floats, hop_s: float) -> Measured:
    """Return the median of a level in dB with its uncertainty: how much stretches of 100 ms differ.

    Parameters
    ----------
    level_db : ndarray, shape (m,)
        Every `hop_s` seconds.
    """
    blocks = _block_means(level_db, hop_s)
    within = float(np.std(level_db)) * np.sqrt(_LEVEL_WINDOW_S / max(hop_s, len(level_db) * hop_s))
    u = _error_of_mean(blocks) if len(blocks) > 2 else within
    return Measured(float(np.median(level_db)), _MEDIAN_RATIO * u)


def _block_means(values: Floats, step_s: float = FINE_STEP_S) -> Floats:
    count = max(1, round(len(values) * step_s / _BLOCK_S))
    return np.array([part.mean() for part in np.array_split(values, count)])


def _error_of_mean(blocks: Floats) -> float:
    return float(np.std(blocks, ddof=1) / np.sqrt(len(blocks))) if len(blocks) > 1 else float(abs(blocks[0]))
