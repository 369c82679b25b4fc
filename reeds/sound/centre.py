"""The mean pitch of a settled tone with its doubt: drift, vibrato, and what noise leaves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reeds.measured import Measured
from reeds.sound.phase import STEP_S, FinePitch
from reeds.sound.tracks import Floats

_VIBRATO_HZ = (3.0, 9.0)
_BAND_HZ = 20.0
_NUMERIC_CENTS = 0.002
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
    drifting = drift * np.hypot(0.004, uneven_s / 2.0)
    u = float(np.sqrt(noise + drifting**2 + _NUMERIC_CENTS**2))
    spread = float(np.std(fine.cents - drift * t))
    return Centre(Measured(float(weights @ fine.cents), u), spread, drift, vibrato_hz)


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
    fine = best + np.linspace(-0.3, 0.3, 13) / length
    errors = [float(np.sum((cents - _fit(t, cents, rate)[0]) ** 2)) for rate in fine]
    rate = float(fine[int(np.argmin(errors))])
    smoothed = np.convolve(left, np.ones(5) / 5.0, "valid")
    explained = 1.0 - min(errors) / float(np.sum(left**2) + 1e-12)
    return rate if explained > 0.5 and float(np.std(smoothed)) > 0.3 else None


def _weights(n: int, vibrato_hz: float | None) -> Floats:
    """Flat with ramps: one vibrato cycle long, or a quarter of the tone and at most 100 ms."""
    ramp = n // 4 if vibrato_hz is None else min(round(1.0 / (vibrato_hz * STEP_S)), n // 2)
    if vibrato_hz is None:
        ramp = min(ramp, round(0.1 / STEP_S))
    weights = np.convolve(np.ones(n - max(1, ramp) + 1), np.ones(max(1, ramp)))
    return np.asarray(weights / weights.sum(), dtype=np.float64)


def _variance_of_mean(rest: Floats, weights: Floats, window_s: float) -> float:
    """Variance of sum(weights * rest) when the spectrum of `rest` is a + b f^2, over likely a : b."""
    n = len(rest)
    f = np.fft.rfftfreq(n, STEP_S)
    power = np.abs(np.fft.rfft(rest)) ** 2 / n
    used = (f > 0) & (f <= min(_BAND_HZ, 0.5 / window_s * 1.2))
    if used.sum() < 3:
        used = (f > 0) & (f <= 50.0)
    f_used, p_used = f[used], power[used]
    fine_f = np.fft.rfftfreq(8 * n, STEP_S)
    gain = np.abs(np.fft.rfft(weights, 8 * n)) ** 2 * np.where(fine_f > 0, 2.0, 1.0) / (8 * n)
    gain = gain * (fine_f < 1.0 / window_s)
    shapes = _RATIOS[:, None] + f_used[None, :] ** 2
    scale = np.mean(p_used / shapes, axis=1)
    misfit = len(f_used) * np.log(scale + 1e-30) + np.sum(np.log(shapes), axis=1)
    chance = np.exp(-(misfit - misfit.min()))
    variance = scale * (_RATIOS * gain.sum() + float(gain @ fine_f**2))
    count = len(f_used)
    return float(chance @ variance / chance.sum()) * (1.0 + 2.0 / count)
