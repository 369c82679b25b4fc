"""The mean pitch of a settled tone with its doubt: drift, vibrato, and what noise leaves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reeds.measured import Measured
from reeds.sound.phase import STEP_S, FinePitch
from reeds.sound.tracks import Floats

_VIBRATO_HZ = (3.0, 9.0)
_BAND_HZ = 20.0
_PLAIN_RAMP_S = 0.025
_NUMERIC_CENTS = 0.0001
_SWING_LEFT = 0.00005
_TWO_CYCLES_S, _USUAL_VIBRATO_HZ = 0.36, 5.5
_RATIOS = np.concatenate([[0.0], np.logspace(-1.0, 4.0, 21)])


@dataclass(frozen=True)
class Centre:
    """What a settled tone does: cents are about the reference of its `FinePitch`.

    Attributes
    ----------
    cents : Measured
        Mean over the settled part, over whole vibrato cycles.
    steadiness_cents : float
        Standard deviation about the drift, vibrato counted in.
    drift_cents_per_s : float
        Slope of the straight line through the pitch.
    vibrato_hz : float or None
        Rate of a vibrato, where there is one.
    """

    cents: Measured
    steadiness_cents: float
    drift_cents_per_s: float
    vibrato_hz: float | None


def centre_of(fine: FinePitch, uneven_s: float = 0.0) -> Centre:
    """Return the mean, steadiness and drift of a settled tone.

    Over whole vibrato cycles: the weights are flat with ramps one vibrato cycle long, so each cycle counts
    whole wherever the settled part begins. The doubt of the mean comes from what drift and vibrato leave:
    its spectrum is a + b f squared (wandering pitch, noise in the phase), both fitted, and is
    summed under the spectrum of the weights.

    Parameters
    ----------
    fine : FinePitch
        At least three intervals.
    uneven_s : float
        How far the middle of the settled part lies from the middle of the whole tone, in seconds; a
        drifting note's mean depends on it.
    """
    t = fine.t_s - fine.t_s.mean()
    vibrato_hz = _vibrato_hz(t, fine.cents)
    fitted, drift = _fit(t, fine.cents, vibrato_hz)
    weights = _weights(len(t), vibrato_hz)
    rest = fine.cents - fitted
    noise = _variance_of_mean(rest, weights, fine.window_s)
    drifting = drift * np.hypot(0.004, 0.6 * uneven_s)
    swinging = _SWING_LEFT * float(np.std(fitted - drift * t))
    u = float(
        np.sqrt(
            noise + drifting**2 + swinging**2 + _unseen_cycle(t, fine.cents, drift) ** 2 + _NUMERIC_CENTS**2
        )
    )
    spread = float(np.std(fine.cents - drift * t))
    return Centre(Measured(float(weights @ fine.cents), u), spread, drift, vibrato_hz)


def _unseen_cycle(t: Floats, cents: Floats, drift: float) -> float:
    """What a vibrato too slow to show in so short a tone may hide, in cents; 0 from 0.4 s up.

    Less than two cycles look like drift and a bend: a slope of s cents/s may be a swing of s / (2 pi f).
    """
    length = float(t[-1] - t[0])
    if length >= _TWO_CYCLES_S:
        return 0.0
    bend = cents - drift * t
    smooth = np.convolve(bend, np.ones(5) / 5.0, "valid") if len(bend) >= 10 else bend
    return float(np.hypot(0.5 * drift / (2.0 * np.pi * _USUAL_VIBRATO_HZ), np.std(smooth)))


def _design(t: Floats, vibrato_hz: float | None) -> Floats:
    columns = [np.ones_like(t), t]
    if vibrato_hz is not None:
        for n in (1, 2):
            turn = 2.0 * np.pi * n * vibrato_hz * t
            columns += [np.cos(turn), np.sin(turn)]
    return np.array(columns).T


def _fit(t: Floats, cents: Floats, vibrato_hz: float | None) -> tuple[Floats, float]:
    design = _design(t, vibrato_hz)
    found = np.linalg.lstsq(design, cents, rcond=None)[0]
    return design @ found, float(found[1])


def _vibrato_hz(t: Floats, cents: Floats) -> float | None:
    """The rate in 3 to 9 Hz that explains most, if it explains most of what drift leaves."""
    length = t[-1] - t[0]
    if length * _VIBRATO_HZ[0] < 1.0:
        return None
    straight, _ = _fit(t, cents, None)
    left = cents - straight
    lowest = max(_VIBRATO_HZ[0], 1.2 / length)
    rates = np.arange(lowest, _VIBRATO_HZ[1], 0.25 / length)
    if not len(rates):
        return None
    turns = np.exp(-2j * np.pi * np.outer(rates, t)) @ (left * np.hanning(len(t) + 2)[1:-1])
    best = float(rates[int(np.argmax(np.abs(turns)))])
    rate = _sharpened(t, cents, best, 0.4 / length)
    smoothed = np.convolve(left, np.ones(5) / 5.0, "valid")
    error = float(np.sum((cents - _fit(t, cents, rate)[0]) ** 2))
    explained = 1.0 - error / float(np.sum(left**2) + 1e-12)
    return rate if explained > 0.5 and float(np.std(smoothed)) > 0.3 else None


def _sharpened(t: Floats, cents: Floats, rate: float, most: float) -> float:
    """The rate near `rate`, at most `most` away, that fits best: Gauss and Newton's steps."""
    first = rate
    for _ in range(4):
        turn = 2.0 * np.pi * rate * t
        design = np.array([np.ones_like(t), t, np.cos(turn), np.sin(turn)]).T
        a, b = np.linalg.lstsq(design, cents, rcond=None)[0][2:]
        slope = 2.0 * np.pi * t * (b * np.cos(turn) - a * np.sin(turn))
        step = np.linalg.lstsq(np.column_stack([design, slope]), cents, rcond=None)[0][4]
        rate = float(np.clip(rate + step, first - most, first + most))
    return rate


def _weights(n: int, vibrato_hz: float | None) -> Floats:
    """Flat with ramps one vibrato cycle long; without a vibrato ramps of 25 ms."""
    ramp = _PLAIN_RAMP_S / STEP_S if vibrato_hz is None else 1.0 / (vibrato_hz * STEP_S)
    ramp = max(1.0, min(ramp, n / 2.0))
    # a cycle is no whole number of steps: the odd rest is split between the ends
    rest = (ramp - int(ramp)) / 2.0
    kernel = np.concatenate([[rest], np.ones(int(ramp)), [rest]]) if n > int(ramp) + 2 else np.ones(int(ramp))
    weights = np.convolve(np.ones(n - len(kernel) + 1), kernel)
    return np.asarray(weights / weights.sum(), dtype=np.float64)


def _variance_of_mean(rest: Floats, weights: Floats, window_s: float) -> float:
    """Variance of sum(weights * rest) when the spectrum of `rest` is a + b f^2, over likely a : b."""
    n = len(rest)
    taper = np.hanning(n + 2)[1:-1]
    f = np.fft.rfftfreq(n, STEP_S)
    power = np.abs(np.fft.rfft(rest * taper)) ** 2 / np.sum(taper**2)
    used = (f > 1.5 / (n * STEP_S)) & (f <= max(_BAND_HZ, 5.0 / (n * STEP_S)))
    if not used.any():
        used = f > 0
    f_used, p_used = f[used], power[used]
    # neighbouring lines of a raised cosine share half their power: two thirds of them count
    count = max(2.0, len(f_used) / 1.5)
    shapes = _RATIOS[:, None] + f_used[None, :] ** 2
    scale = np.mean(p_used / shapes, axis=1)
    misfit = count * (np.log(scale + 1e-30) + np.mean(np.log(shapes), axis=1))
    chance = np.exp(-(misfit - misfit.min()))
    variance = scale * (_RATIOS * _gain(weights, window_s, 0) + _gain(weights, window_s, 2))
    return float(chance @ variance / chance.sum()) * (1.0 + 1.0 / count)


def _gain(weights: Floats, window_s: float, power_of_f: int) -> float:
    """Variance of the weighted sum per unit of a spectrum f ** power_of_f, up to where the window ends it."""
    size = 8 * len(weights)
    f = np.fft.rfftfreq(size, STEP_S)
    gain = np.abs(np.fft.rfft(weights, size)) ** 2 * np.where(f > 0, 2.0, 1.0) / size
    return float(np.sum(gain * f**power_of_f * (f < 1.0 / window_s)))
