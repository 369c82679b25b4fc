"""What leaves the mean pitch of a settled tone in doubt: noise in its phase, and unrest at its ends."""

from __future__ import annotations

import numpy as np

from reeds.numbers.measured import Measured
from reeds.take.sound.phase import STEP_S
from reeds.take.sound.tracks import Floats

_BAND_HZ = (3.0, 14.0)
_STARTS = 8
_BLOCK_S = 0.1
_HEARD_WITHIN_S = 0.012


def phase_noise(rest: Floats, window_s: float) -> float:
    """Return b of the spectrum b f squared that noise in the phase leaves in the pitch.

    A phase that is heard with an error of any bounded kind gives a pitch whose error grows with frequency;
    what moves slowly is the player, so only 3 to 14 Hz are looked at.

    Parameters
    ----------
    rest : ndarray, shape (n,)
        Cents every 5 ms, drift and vibrato taken off.
    window_s : float
        Length of the raised cosine under which each phase was read, seconds.
    """
    n = len(rest)
    taper = np.hanning(n + 2)[1:-1]
    f = np.fft.rfftfreq(n, STEP_S)
    power = np.abs(np.fft.rfft(rest * taper)) ** 2 / np.sum(taper**2)
    used = (f > max(_BAND_HZ[0], 2.5 / (n * STEP_S))) & (f <= max(_BAND_HZ[1], 4.0 / (n * STEP_S)))
    if used.sum() < 2:
        used = f > 0
    lines: Floats = f[used].astype(np.float64)
    left = _left_by_window(lines * window_s)
    # neighbouring lines of a raised cosine share half their power: two thirds of them count
    few = 1.0 + 1.5 / float(used.sum())
    return few * float(np.mean(power[used] / (left * lines) ** 2))


def _left_by_window(turns: Floats) -> Floats:
    """What a raised cosine leaves of a wave that makes so many turns within it."""
    left: Floats = np.sinc(turns) / (1.0 - np.minimum(turns, 0.9) ** 2)
    return left


def noise_gain(weights: Floats, window_s: float) -> float:
    """Return the variance of a weighted sum per unit of b, up to where the window ends the spectrum."""
    size = 8 * len(weights)
    f = np.fft.rfftfreq(size, STEP_S)
    gain = np.abs(np.fft.rfft(weights, size)) ** 2 * np.where(f > 0, 2.0, 1.0) / size
    return float(np.sum(gain * f**2 * (f < 1.0 / window_s)))


def strays(t: Floats, cents: Floats) -> tuple[float, float, float]:
    """Return how far the phase strays from where the middle of a tone leads it, in cents times seconds.

    A scoop, a fall, an echo that builds up: each turns the phase at an end by so much and no more.

    Parameters
    ----------
    t, cents : ndarray, shape (n,)
        Seconds and cents every 5 ms, vibrato taken off.

    Returns
    -------
    (float, float, float)
        At the beginning, at the end, and what stretches in between stray by as a rule.
    """
    n = len(t)
    reach, edge = max(2, n // 4), n // 5
    line = np.polyfit(t[edge : n - edge], cents[edge : n - edge], 1)
    off = (cents - np.polyval(line, t)) * STEP_S
    starts = np.unique(np.linspace(edge, max(edge, n - edge - reach), _STARTS).astype(int))
    between = [_farthest(off[start : start + reach]) for start in starts]
    return _farthest(off[:reach]), _farthest(off[::-1][:reach]), float(np.sqrt(np.mean(np.square(between))))


def _farthest(off: Floats) -> float:
    return float(np.abs(np.cumsum(off)).max())


def spread(off: Floats, noise: float, window_s: float) -> Measured:
    """Return the standard deviation of deviations every 5 ms, with its doubt.

    The doubt is how much stretches of 100 ms differ in it, and what noise in the phase (`phase_noise`) adds.
    """
    value = float(np.std(off))
    if value == 0.0:
        return Measured(0.0, 0.0)
    by_chance = _error_of_mean(_block_means((off - off.mean()) ** 2)) / (2.0 * value)
    one = np.zeros(max(8, len(off)))
    one[len(one) // 2] = 1.0
    without = max(0.0, value**2 - noise * noise_gain(one, window_s))
    return Measured(value, min(value, float(np.hypot(by_chance, value - np.sqrt(without)))))


def slope_doubt(left: Floats, noise: float, window_s: float) -> float:
    """Return the standard uncertainty of a fitted slope, per second, from what it leaves every 5 ms."""
    n = len(left)
    t = (np.arange(n) - (n - 1) / 2.0) * STEP_S
    by_noise = np.sqrt(noise * noise_gain(t / np.sum(t**2), window_s))
    blocks = _block_means(left)
    places = (np.arange(len(blocks)) - (len(blocks) - 1) / 2.0) * n * STEP_S / len(blocks)
    if len(blocks) < 3:
        return float(np.hypot(by_noise, np.std(left) / max(STEP_S, float(np.std(t)))))
    scatter = np.sqrt(np.sum(blocks**2) / (len(blocks) - 2) / np.sum(places**2))
    return float(np.hypot(by_noise, scatter))


def median_level(level_db: Floats, hop_s: float) -> Measured:
    """Return the median of a level in dB with its doubt: how much stretches of 100 ms differ.

    A median of normal scatter is 1.25 times as uncertain as a mean (common knowledge of statistics).
    """
    blocks = _block_means(level_db, hop_s)
    within = float(np.std(level_db)) * np.sqrt(_HEARD_WITHIN_S / max(hop_s, len(level_db) * hop_s))
    doubt = _error_of_mean(blocks) if len(blocks) > 2 else within
    return Measured(float(np.median(level_db)), 1.2533 * doubt)


def _block_means(values: Floats, step_s: float = STEP_S) -> Floats:
    count = max(1, round(len(values) * step_s / _BLOCK_S))
    return np.array([part.mean() for part in np.array_split(values, count)])


def _error_of_mean(blocks: Floats) -> float:
    return float(np.std(blocks, ddof=1) / np.sqrt(len(blocks))) if len(blocks) > 1 else float(abs(blocks[0]))
