"""A room: the images of a source in a box of six walls, as the impulse response from it to a microphone.

Source: J. B. Allen and D. A. Berkley, Image method for efficiently simulating small-room acoustics, 1979.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy import signal

from tests.rooms.reed import RATE

SPEED = 343.0
_DIRECT_S = 0.0025
_UNDER_HZ = 2000.0


@lru_cache(maxsize=16)
def impulse(rt60_s: float, drr_db: float, seed: int) -> np.ndarray:
    """Impulse response whose first sample is the direct sound, of unit energy in its direct part.

    Under 2 kHz it falls 60 dB in `rt60_s`, above in 0.7 of that; `drr_db` is direct over all later energy.
    """
    rng = np.random.default_rng(seed)
    raw = _decaying(_images(rt60_s, rng), rt60_s)
    direct, later = raw.copy(), raw.copy()
    edge = round(_DIRECT_S * RATE)
    direct[edge:], later[:edge] = 0.0, 0.0
    direct /= np.sqrt((direct**2).sum())
    return direct + later * 10.0 ** (-drr_db / 20.0) / np.sqrt((later**2).sum())


@lru_cache(maxsize=16)
def noise_impulse(rt60_s: float, drr_db: float, seed: int) -> np.ndarray:
    """The same of a room of another kind: after 3 ms only noise, which falls, and ever darker the later.

    Source: J. A. Moorer, About this reverberation business, 1979: exponentially falling noise.
    """
    rng = np.random.default_rng(seed)
    t = np.arange(round(1.1 * rt60_s * RATE)) / RATE
    white = rng.normal(size=len(t)) * 10.0 ** (-3.0 * t / rt60_s)
    under = signal.sosfilt(signal.butter(1, _UNDER_HZ, fs=RATE, output="sos"), white)
    late = under + (white - under) * 10.0 ** (-3.0 * t * 0.43 / rt60_s)
    late[: round(_DIRECT_S * RATE)] = 0.0
    late *= 10.0 ** (-drr_db / 20.0) / np.sqrt((late**2).sum())
    late[0] = 1.0
    return late


def _images(rt60_s: float, rng: np.random.Generator) -> np.ndarray:
    """Every image nearer than sound goes in the reverberation time; images beyond the first lie a bit off."""
    size = np.array([4.6, 3.7, 2.6]) * (max(rt60_s, 0.3) / 0.3) ** 0.55 * rng.uniform(0.9, 1.1, 3)
    source, ear = size * rng.uniform(0.25, 0.75, 3), size * rng.uniform(0.25, 0.75, 3)
    volume, walls = size.prod(), 2.0 * (size[0] * size[1] + size[1] * size[2] + size[0] * size[2])
    back = np.exp(-0.5 * 0.161 * volume / (walls * rt60_s))
    reach = SPEED * rt60_s * 1.1
    squares, counts = zip(*(_line(*axis, reach) for axis in zip(size, source, ear, strict=True)), strict=True)
    far2 = (squares[0][:, None, None] + squares[1][None, :, None] + squares[2][None, None, :]).ravel()
    turned = (counts[0][:, None, None] + counts[1][None, :, None] + counts[2][None, None, :]).ravel()
    near = far2 < reach**2
    far, turned = np.sqrt(far2[near]), turned[near]
    late = far - far.min() + np.where(turned > 0, rng.uniform(0.0, 0.16, len(far)), 0.0)
    at = np.round(late / SPEED * RATE).astype(int)
    made = np.bincount(at, back**turned / far)
    # walls that only add would leave a constant: a room does not carry it
    return signal.sosfilt(signal.butter(2, 70.0, "highpass", fs=RATE, output="sos"), made)


def _line(size: float, source: float, ear: float, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Squared distance along one axis and number of reflections of each image."""
    order = np.arange(-int(reach / size) - 1, int(reach / size) + 2)
    at = np.where(order % 2 == 0, order * size + source, (order + 1) * size - source)
    return (at - ear) ** 2, np.abs(order)


def _decaying(raw: np.ndarray, rt60_s: float) -> np.ndarray:
    """A box rings longer along its axes than the formula says: bend the decay to what is asked for."""
    t = np.arange(len(raw)) / RATE
    low = signal.butter(4, _UNDER_HZ, fs=RATE, output="sos")
    for _ in range(3):
        rings = 60.0 / slope_db_per_s(signal.sosfilt(low, raw))
        raw = raw * 10.0 ** (-3.0 * t * (1.0 / rt60_s - 1.0 / rings))
    under = signal.sosfilt(low, raw)
    return under + (raw - under) * 10.0 ** (-3.0 * t * 0.43 / rt60_s)


def slope_db_per_s(response: np.ndarray) -> float:
    """How fast the energy that is still to come falls, between 5 and 30 dB below all of it."""
    left = np.cumsum(response[::-1] ** 2)[::-1]
    db = 10.0 * np.log10(left / left[0] + 1e-15)
    part = np.flatnonzero((db < -5.0) & (db > -30.0))
    return -float(np.polyfit(part / RATE, db[part], 1)[0])


def in_room(x: np.ndarray, response: np.ndarray | None) -> np.ndarray:
    """What the microphone gets of x, no longer than x."""
    return x if response is None else signal.oaconvolve(x, response)[: len(x)]
