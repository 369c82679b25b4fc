"""Uncertainty of the figures of a settled tone: phase noise, and what happens at the ends of the tone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reeds.numbers.measured import Measured
from reeds.take.sound.signals import FINE_STEP_S, Floats

# calibrated: where the phase's noise is looked for
_NOISE_BAND_HZ = (3.0, 14.0)
_WINDOWS_BETWEEN = 8
# what happens at an end is over after so long; in a long tone the player wanders further than any end
_END_REACH_S = 0.25
# the window of `Tracks.level_db`
_LEVEL_WINDOW_S = 0.012
# all calibrated, on quiet and on restless tones alike: widths in steps of 5 ms, what an end may be off by
_FAST_WIDTH, _END_WIDTH = 9, 3
_MISHEARD_SHARE, _SPREAD_SHARE, _SPREAD_ENDS_S = 0.8, 0.043, 0.04
# what flickers is misheard where it is this share of the whole variance, not where it is less; how much of it
# depends on the kind of noise, white in the pitch or in the phase: 0.8 to 1.2 times what `fast` tells, tried
_FLICKER_FROM, _FLICKER_ALL, _FLICKER_TIMES, _MISHEARD_KIND = 0.1, 0.5, 1.04, 0.14
_SLOPE_SHARE, _SLOPE_ENDS_S = 0.3, 0.05
_FLICKER_SHARE, _LEVEL_ENDS_S = 0.55, 0.03
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
    reach, edge = max(2, min(n // 4, round(_END_REACH_S / FINE_STEP_S))), n // 5
    line = np.polyfit(t[edge : n - edge], cents[edge : n - edge], 1)
    off = (cents - np.polyval(line, t)) * FINE_STEP_S
    starts = np.unique(np.linspace(edge, max(edge, n - edge - reach), _WINDOWS_BETWEEN).astype(int))
    between = [_farthest(off[start : start + reach]) for start in starts]
    mean_square = np.mean(np.square(between))
    return Excursions(_farthest(off[:reach]), _farthest(off[::-1][:reach]), float(np.sqrt(mean_square)))


def _farthest(off: Floats) -> float:
    return float(np.abs(np.cumsum(off)).max())


@dataclass(frozen=True)
class Rest:
    """What neither drift nor vibrato explains of a tone: `cents` every 5 ms, and its `length_s`."""

    cents: Floats
    length_s: float

    @property
    def fast(self) -> float:
        """Its part that lives for less than 45 ms, cents: what the phase is misheard by."""
        wide = np.pad(self.cents, _FAST_WIDTH // 2, mode="edge")
        smooth = np.convolve(wide, np.ones(_FAST_WIDTH) / _FAST_WIDTH, "valid")
        return float(np.std(self.cents - smooth))

    @property
    def ends(self) -> tuple[float, float]:
        """How far the pitch still lies off at the two ends, cents: a scoop, a fall."""
        return float(np.mean(self.cents[:_END_WIDTH])), float(np.mean(self.cents[-_END_WIDTH:]))


def standard_deviation(off: Floats, rest: Rest) -> Measured:
    """Return the standard deviation of deviations every 5 ms, with its uncertainty.

    It is this tone's, not another one's: uncertain is what the phase is misheard by, and which moments at
    the two ends belong to it, the more so where the pitch is still moving there. Where a good part of it is
    gone within 45 ms, as no pitch of a reed is, that part is known for mishearing and left out.

    Parameters
    ----------
    off : ndarray, shape (n,)
        Deviations from the drift, vibrato counted in, cents.
    rest : Rest
        The same without the vibrato.
    """
    value = float(np.std(off))
    if value == 0.0:
        return Measured(0.0, 0.0)
    misheard = value - np.sqrt(max(0.0, value**2 - rest.fast**2))
    known = float(np.interp(rest.fast**2 / value**2, (_FLICKER_FROM, _FLICKER_ALL), (0.0, 1.0)))
    unsure = (1.0 - known) * _MISHEARD_SHARE + known * _MISHEARD_KIND
    by_length = _SPREAD_SHARE * value / np.sqrt(rest.length_s)
    by_ends = _SPREAD_ENDS_S * float(np.sum(np.square(rest.ends))) / (2.0 * value * rest.length_s)
    u = np.sqrt((unsure * misheard) ** 2 + by_length**2 + by_ends**2)
    return Measured(max(0.0, float(value - known * _FLICKER_TIMES * misheard)), min(value, float(u)))


def slope_uncertainty(spread: float, rest: Rest) -> float:
    """Return the standard uncertainty of a straight line's slope, cents a second.

    Parameters
    ----------
    spread : float
        Standard deviation about the line, cents.
    rest : Rest
        What neither the line nor a vibrato explains.
    """
    by_ends = 6.0 * _SLOPE_ENDS_S * float(np.sum(np.abs(rest.ends))) / rest.length_s**2
    return float(np.hypot(_SLOPE_SHARE * spread / rest.length_s, by_ends))


def median_level(level_db: Floats, hop_s: float) -> Measured:
    """Return the median of a level in dB with its uncertainty: its flicker, and where the tone ends.

    A tone that is heard a little longer or shorter has another median the more, the fewer moments lie
    about it: a swell has few.

    Parameters
    ----------
    level_db : ndarray, shape (m,)
        Every `hop_s` seconds.
    """
    length_s = len(level_db) * hop_s
    apart = level_db[:: max(1, round(_LEVEL_WINDOW_S / hop_s))]
    flicker = float(np.std(np.diff(apart))) if len(apart) > 2 else float(np.std(level_db))
    by_flicker = _FLICKER_SHARE * _MEDIAN_RATIO * flicker * np.sqrt(_LEVEL_WINDOW_S / length_s)
    low, high = np.percentile(level_db, [45.0, 55.0])
    by_ends = _LEVEL_ENDS_S * float(high - low) / (0.1 * 2.0 * length_s)
    return Measured(float(np.median(level_db)), float(np.hypot(by_flicker, by_ends)))
