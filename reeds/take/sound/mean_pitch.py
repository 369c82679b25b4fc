"""The mean pitch of a settled tone with its uncertainty: drift, vibrato, residual."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reeds.numbers.measured import Measured
from reeds.take.sound.phase import FinePitch
from reeds.take.sound.signals import FINE_STEP_S, Floats
from reeds.take.sound.uncertainty import (
    Excursions,
    Rest,
    noise_gain,
    phase_excursions,
    phase_noise,
    slope_uncertainty,
    standard_deviation,
)

_VIBRATO_HZ = (3.0, 9.0)
_RAMP_S = 0.025
# two cycles of a usual vibrato: a shorter tone may hide it
_TWO_CYCLES_S, _USUAL_VIBRATO_HZ = 0.36, 5.5
# a vibrato explains so much of the residual's variance, and is so strong
_VIBRATO_SHARE, _LEAST_VIBRATO_CENTS = 0.5, 0.3
# how many times its noise the difference of the two means has to be, in variance
_PULL_OVER_NOISE = 2.0
# calibrated, all below: how much each cause counts in the uncertainty, so that the stated intervals hold
_NUMERIC_U_CENTS = 0.000006
_VIBRATO_U_SHARE = 0.000014
_DRIFT_U_S, _UNEVEN_U_SHARE = 0.0014, 0.08
_PULL_U_SHARE = 0.9
_PHASE_NOISE_RATIO, _BETWEEN_RATIO = 3.3, 1.5
_OUTSTANDING_SHARE, _ENDS_SHARE, _BETWEEN_SHARE = 0.575, 0.37, 0.48


@dataclass(frozen=True)
class MeanPitch:
    """What a settled tone does: cents are about the reference of its `FinePitch`.

    Attributes
    ----------
    cents : Measured
        Mean over the settled part, over whole vibrato cycles.
    steadiness_cents : Measured
        Standard deviation about the drift, vibrato counted in.
    drift_cents_per_s : Measured
        Slope of the straight line through the pitch.
    vibrato_hz : float or None
        Rate of a vibrato, where there is one.
    """

    cents: Measured
    steadiness_cents: Measured
    drift_cents_per_s: Measured
    vibrato_hz: float | None


def mean_pitch(fine: FinePitch, first_s: float, last_s: float, uneven_s: float = 0.0) -> MeanPitch:
    """Return the mean, steadiness and drift of a settled tone.

    Two means are at hand. One counts whole vibrato cycles by weights that rise and fall over one cycle: it
    bears noise best. The other leaves the vibrato out and counts every instant alike: it bears a pitch that
    moves best. The first is corrected towards the second as far as their difference is more than noise.

    Parameters
    ----------
    fine : FinePitch
        At least three intervals.
    first_s, last_s : float
        The settled part; the phase cannot be read up to its very ends.
    uneven_s : float
        How far the middle of the settled part lies from the middle of the whole tone, in seconds; a
        drifting note's mean depends on it.
    """
    t = fine.t_s - fine.t_s.mean()
    vibrato_hz = _vibrato_hz(t, fine.cents)
    vibrato, fitted, drift = _fit(t, fine.cents, vibrato_hz)
    weights = _weights(len(t), vibrato_hz)
    moving = _even_weights(fine.t_s, first_s, last_s) - weights
    residual = fine.cents - fitted
    noise = phase_noise(residual, fine.window_s)
    pull = float(moving @ (fine.cents - vibrato))
    pull_noise = noise * noise_gain(moving, fine.window_s)
    share = max(0.0, 1.0 - _PULL_OVER_NOISE * pull_noise / (pull**2 + 1e-20))
    parts = (
        np.sqrt(noise * noise_gain(weights, fine.window_s)),
        share * np.sqrt(pull_noise),
        _PULL_U_SHARE * share * pull,
        _ends_u(phase_excursions(t, fine.cents - vibrato), noise, fine.window_s) / (last_s - first_s),
        drift * _DRIFT_U_S,
        drift * _UNEVEN_U_SHARE * uneven_s,
        _VIBRATO_U_SHARE * float(np.std(vibrato)),
        _unseen_cycle(t, fine.cents, drift),
        _NUMERIC_U_CENTS,
    )
    mean = Measured(float(weights @ fine.cents) + share * pull, float(np.sqrt(np.sum(np.square(parts)))))
    rest = Rest(residual, last_s - first_s)
    steadiness = standard_deviation(fine.cents - drift * t, rest)
    slope = Measured(drift, slope_uncertainty(steadiness.value, rest))
    return MeanPitch(mean, steadiness, slope, vibrato_hz)


def _ends_u(excursions: Excursions, noise: float, window_s: float) -> float:
    """What the ends leave uncertain, in cents times seconds: what stands out there counts most."""
    begin, end, between = excursions.begin, excursions.end, excursions.between
    phase_u = np.sqrt(noise * FINE_STEP_S / window_s) / (2.0 * np.pi)
    by_noise = (_PHASE_NOISE_RATIO * phase_u) ** 2
    usual = by_noise + (_BETWEEN_RATIO * between) ** 2
    seen = max(0.0, begin**2 - by_noise) + max(0.0, end**2 - by_noise)
    out = max(0.0, begin**2 - usual) + max(0.0, end**2 - usual)
    restless = max(0.0, between**2 - by_noise)
    return float(np.sqrt(_OUTSTANDING_SHARE**2 * out + _ENDS_SHARE**2 * seen + _BETWEEN_SHARE**2 * restless))


def _even_weights(t_s: Floats, first_s: float, last_s: float) -> Floats:
    """Every instant of the settled part alike, the ends filled with the 20 ms beside them."""
    n, length = len(t_s), last_s - first_s
    before = max(0.0, t_s[0] - FINE_STEP_S / 2.0 - first_s) / length
    after = max(0.0, last_s - t_s[-1] - FINE_STEP_S / 2.0) / length
    beside = max(1, min(4, n // 3))
    weights = np.full(n, (1.0 - before - after) / n)
    weights[:beside] += before / beside
    weights[-beside:] += after / beside
    return weights


def _unseen_cycle(t: Floats, cents: Floats, drift: float) -> float:
    """What a vibrato too slow to show in so short a tone may hide, in cents; 0 from 0.36 s up.

    Less than two cycles look like drift and a bend: a slope of s cents/s may be a vibrato of s / (2 pi f).
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


def _fit(t: Floats, cents: Floats, vibrato_hz: float | None) -> tuple[Floats, Floats, float]:
    """The vibrato alone, all that was fitted, and the drift."""
    design = _design(t, vibrato_hz)
    found = np.linalg.lstsq(design, cents, rcond=None)[0]
    vibrato: Floats = design[:, 2:] @ found[2:]
    return vibrato, design @ found, float(found[1])


def _vibrato_hz(t: Floats, cents: Floats) -> float | None:
    """The rate in 3 to 9 Hz that explains most, if it explains most of the residual of the drift."""
    length = t[-1] - t[0]
    if length * _VIBRATO_HZ[0] < 1.0:
        return None
    straight = _fit(t, cents, None)[1]
    residual = cents - straight
    lowest = max(_VIBRATO_HZ[0], 1.2 / length)
    rates = np.arange(lowest, _VIBRATO_HZ[1], 0.25 / length)
    if not len(rates):
        return None
    faded = residual * np.hanning(len(t) + 2)[1:-1]
    # one rate after the other: all at once, a tone of three minutes takes 2.4 GB
    strengths = [abs(np.exp(-2j * np.pi * rate * t) @ faded) for rate in rates]
    best = float(rates[int(np.argmax(strengths))])
    rate = _sharpened(t, cents, best, 0.4 / length)
    smoothed = np.convolve(residual, np.ones(5) / 5.0, "valid")
    error = float(np.sum((cents - _fit(t, cents, rate)[1]) ** 2))
    explained = 1.0 - error / float(np.sum(residual**2) + 1e-12)
    return rate if explained > _VIBRATO_SHARE and float(np.std(smoothed)) > _LEAST_VIBRATO_CENTS else None


def _sharpened(t: Floats, cents: Floats, rate: float, most: float) -> float:
    """The rate near `rate`, at most `most` away, that fits best.

    Source: IEEE Std 1057, the four-parameter sine fit, here with a drift.
    """
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
    ramp = _RAMP_S / FINE_STEP_S if vibrato_hz is None else 1.0 / (vibrato_hz * FINE_STEP_S)
    ramp = max(1.0, min(ramp, n / 2.0))
    # a cycle is no whole number of steps: the fraction is split between the ends
    fraction = (ramp - int(ramp)) / 2.0
    kernel = np.ones(int(ramp))
    if n > len(kernel) + 2:
        kernel = np.concatenate([[fraction], kernel, [fraction]])
    weights = np.convolve(np.ones(n - len(kernel) + 1), kernel)
    return np.asarray(weights / weights.sum(), dtype=np.float64)
