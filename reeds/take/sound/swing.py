"""Takes the vibrato off a level or a pitch: its mean over one period is left, back to the first instant."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reeds.take.sound.signals import HOP_S, Floats

# a running mean would blur the attack over a whole period; a sine carried back to it does not. All calibrated
_RATES_HZ = np.arange(3.5, 8.01, 0.25)
_AFTER_S, _FEWEST_PERIODS, _MOST_PERIODS = 0.12, 1.75, 3.0
_SHARE = 0.6
_FAR = 600.0


def without_swing(values: Floats, onset: int) -> Floats:
    """Return a level in dB or a pitch in cents without its vibrato, where it has one.

    A straight line and a sine are fitted to two or three periods soon after the attack; the sine is taken off
    up to there, and beyond it the running mean stands. Where a sine explains little, nothing is changed.

    Parameters
    ----------
    values : ndarray
        Every `HOP_S`, from the first air of a note to its end.
    onset : int
        Where its tone begins.
    """
    first = onset + round(_AFTER_S / HOP_S)
    fits = [fit for rate in _RATES_HZ if (fit := _fitted(values, first, float(rate))) is not None]
    if not fits:
        return values
    best = max(fits, key=lambda fit: fit.share)
    if best.share < _SHARE:
        return values
    flat = values.copy()
    flat[onset : best.end] -= best.over(first, onset)
    flat[best.end :] = _running_mean(values, _period(best.rate_hz))[best.end :]
    return flat


@dataclass(frozen=True)
class _Fit:
    """How much of the variance about the line a sine explains, where its fit ends, and that sine."""

    share: float
    rate_hz: float
    end: int
    swing: Floats
    along: Floats

    def over(self, first: int, begin: int) -> Floats:
        """The sine from `begin` to its end, where its time begins at `first`."""
        sine = np.linalg.solve(self.along, self.swing)
        return _columns(self.rate_hz, begin - first, self.end - first)[:, 2:] @ sine


def _period(rate_hz: float) -> int:
    return round(1.0 / rate_hz / HOP_S)


def _fitted(values: Floats, first: int, rate_hz: float) -> _Fit | None:
    period = _period(rate_hz)
    end = min(len(values) - period // 4, first + round(_MOST_PERIODS * period))
    if end - first < _FEWEST_PERIODS * period:
        return None
    part = values[first:end]
    if np.ptp(part) > _FAR and np.abs(part - np.median(part)).max() > _FAR:
        return None
    # the line and the sine at right angles to each other
    across, along = np.linalg.qr(_columns(rate_hz, 0, end - first))
    beside = part - across[:, :2] @ (across[:, :2].T @ part)
    swing = across[:, 2:].T @ beside
    about = float(beside @ beside)
    share = 1.0 - (about - float(swing @ swing)) / max(about, 1e-9)
    return _Fit(share, rate_hz, end, swing, along[2:, 2:])


def _columns(rate_hz: float, first: int, end: int) -> Floats:
    """One, time, and a sine and its cosine from one frame to another."""
    t = np.arange(first, end) * HOP_S
    turn = 2.0 * np.pi * rate_hz * t
    return np.stack([np.ones(len(t)), t, np.sin(turn), np.cos(turn)], axis=1)


def _running_mean(values: Floats, width: int) -> Floats:
    ends = np.pad(values, (width // 2, width - 1 - width // 2), mode="edge")
    return np.convolve(ends, np.ones(width) / width, "valid")
