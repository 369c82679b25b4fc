"""Takes the vibrato off a level or a pitch: its mean over one period is left, back to the first instant."""

from __future__ import annotations

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
    share, sine, end, period = max(fits, key=lambda fit: fit[0])
    if share < _SHARE:
        return values
    flat = values.copy()
    flat[onset:end] -= sine[onset:end]
    flat[end:] = _running_mean(values, period)[end:]
    return flat


def _fitted(values: Floats, first: int, rate_hz: float) -> tuple[float, Floats, int, int] | None:
    """How much of the variance about the line a sine explains, that sine, where its fit ends, its period."""
    period = round(1.0 / rate_hz / HOP_S)
    end = min(len(values) - period // 4, first + round(_MOST_PERIODS * period))
    if end - first < _FEWEST_PERIODS * period:
        return None
    t = (np.arange(len(values)) - first) * HOP_S
    turn = 2.0 * np.pi * rate_hz * t
    columns = np.stack([np.ones(len(t)), t, np.sin(turn), np.cos(turn)], axis=1)
    part = values[first:end]
    if np.abs(part - np.median(part)).max() > _FAR:
        return None
    found = np.linalg.lstsq(columns[first:end], part, rcond=None)[0]
    line = np.linalg.lstsq(columns[first:end, :2], part, rcond=None)[0]
    about = float(np.sum((part - columns[first:end, :2] @ line) ** 2))
    left = float(np.sum((part - columns[first:end] @ found) ** 2))
    return 1.0 - left / max(about, 1e-9), columns[:, 2:] @ found[2:], end, period


def _running_mean(values: Floats, width: int) -> Floats:
    ends = np.pad(values, (width // 2, width - 1 - width // 2), mode="edge")
    return np.convolve(ends, np.ones(width) / width, "valid")
