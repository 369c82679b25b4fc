"""Pitch far finer than Praat's frames: the phase of the harmonics of one note, followed over time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reeds.take.sound.signals import FINE_STEP_S, Floats, cents_of, excerpt

# all calibrated
_MOST_HARMONICS = 12
_HIGHEST_HARMONIC_HZ = 7500.0
_OUTLIER_CENTS = 80.0
_LONGEST_WINDOW_S = 0.025
_SLOW_S = 0.06
_COARSE_FRAMES_SMOOTHED = 9
# so many instants of all harmonics at once, for the sake of memory
_PICKS_AT_ONCE = 64

Complexes = NDArray[np.complex128]


@dataclass(frozen=True)
class FinePitch:
    """Pitch of one note between instants 5 ms apart.

    Attributes
    ----------
    t_s : ndarray, shape (n,)
        Middle of each interval, seconds from the start of the recording.
    cents : ndarray, shape (n,)
        Mean pitch over the interval, in cents above `reference_hz`.
    reference_hz : float
        The note's median pitch by Praat.
    window_s : float
        Length of the window each phase was read under: neighbours closer than this share noise.
    """

    t_s: Floats
    cents: Floats
    reference_hz: float
    window_s: float


def fine_pitch(
    samples: Floats, rate_hz: int, coarse_t_s: Floats, coarse_hz: Floats, first_s: float, last_s: float
) -> FinePitch | None:
    """Follow the phase of a note's harmonics from `first_s` to `last_s`.

    Each harmonic is turned down to near 0 Hz by the coarse pitch, averaged under a raised cosine of a whole
    number of periods (so that its neighbours vanish), and its phase divided by its number. The harmonics
    are weighted by how quiet their phase is.

    Parameters
    ----------
    samples : ndarray
        The recording at `rate_hz`.
    coarse_t_s, coarse_hz : ndarray
        Praat's pitch in hertz at these instants inside the note; 0 where none.
    first_s, last_s : float
        The stretch to follow, in seconds.

    Returns
    -------
    FinePitch or None
        None where the stretch is too short for three phases.
    """
    heard = coarse_hz > 0
    if heard.sum() < 3:
        return None
    middle_hz = float(np.median(coarse_hz[heard]))
    window_s = _window_s(middle_hz, last_s - first_s)
    centres = np.arange(first_s + window_s / 2, last_s - window_s / 2 + 1e-9, FINE_STEP_S)
    if len(centres) < 4:
        return None
    centres = np.round(centres * rate_hz) / rate_hz
    guide, turns, origin = _guide(coarse_t_s[heard], coarse_hz[heard], middle_hz, rate_hz, centres, window_s)
    picks = np.round(centres * rate_hz).astype(int) - origin
    bent = _common_phase(excerpt(samples, origin, len(guide)), guide, turns, picks, rate_hz, window_s)
    phase = turns[picks] + bent
    hz = np.diff(phase) / np.diff(centres)
    return FinePitch((centres[1:] + centres[:-1]) / 2, cents_of(hz, middle_hz), middle_hz, window_s)


def _window_s(hz: float, length_s: float) -> float:
    longest = min(_LONGEST_WINDOW_S, max(length_s / 3.0, 2.0 / hz))
    return max(2, int(longest * hz)) / hz


def _guide(
    t: Floats, hz: Floats, middle_hz: float, rate: int, centres: Floats, window_s: float
) -> tuple[Floats, Floats, int]:
    """The smoothed coarse pitch on every sample, its phase in turns, and the first sample's number."""
    off = np.abs(cents_of(hz, middle_hz)) > _OUTLIER_CENTS
    tame = np.where(off, middle_hz, hz)
    width = min(_COARSE_FRAMES_SMOOTHED, len(tame) - 1 + len(tame) % 2)
    padded = np.pad(tame, width // 2, mode="edge")
    smooth = np.convolve(padded, np.ones(width) / width, "valid")
    half = int(window_s * rate / 2) + 1
    origin = round(centres[0] * rate) - half
    at = (origin + np.arange(round(centres[-1] * rate) + half + 1 - origin)) / rate
    guide = np.interp(at, t[: len(smooth)], smooth)
    steps = (guide[1:] + guide[:-1]) / (2.0 * rate)
    return guide, np.concatenate([[0.0], np.cumsum(steps)]), origin


def _common_phase(
    x: Floats, guide: Floats, turns: Floats, picks: NDArray[np.int_], rate: int, window_s: float
) -> Floats:
    """What the harmonics agree the phase is beyond the guide's, in turns of the fundamental, at `picks`."""
    half = int(window_s * rate / 2)
    offsets = np.arange(-half, half + 1)
    window = 0.5 + 0.5 * np.cos(2.0 * np.pi * offsets / (window_s * rate))
    top = min(_HIGHEST_HARMONIC_HZ, 0.46 * rate) / guide.max()
    count = max(1, min(_MOST_HARMONICS, int(top)))
    value = np.concatenate(
        [
            _turned_down(x, turns, picks[at : at + _PICKS_AT_ONCE] - half, window, count)
            for at in range(0, len(picks), _PICKS_AT_ONCE)
        ]
    ).T
    numbers = np.arange(1, count + 1)
    phases = np.unwrap(np.angle(value)) / (2.0 * np.pi * numbers[:, None])
    return _weighted(phases, np.median(np.abs(value), axis=1) * numbers)


def _turned_down(x: Floats, turns: Floats, starts: NDArray[np.int_], window: Floats, count: int) -> Complexes:
    """Each harmonic turned down to near 0 Hz, its mean under a window from each start: one column each."""
    used = slice(int(starts[0]), int(starts[-1]) + len(window))
    turn = 2.0 * np.pi * turns[used]
    down = np.cos(turn) - 1j * np.sin(turn)
    turned, side_by_side = x[used].astype(np.complex128), np.empty((len(turn), count), np.complex128)
    for number in range(count):
        turned *= down
        side_by_side[:, number] = turned
    # real and imaginary parts, without a copy of any window
    parts = side_by_side.view(np.float64)
    sums = np.array([window @ parts[start : start + len(window)] for start in starts - starts[0]])
    return sums.view(np.complex128)


def _weighted(phases: Floats, sizes: Floats) -> Floats:
    """Mean over harmonics, first by size, then by how little each strays from that mean.

    Strays both from one instant to the next and over 60 ms: noise may turn a weak harmonic once too often.
    """
    phases = phases - phases[:, :1]
    weights = sizes**2
    lag = max(1, min(round(_SLOW_S / FINE_STEP_S), phases.shape[1] // 2))
    for _ in range(3):
        away = phases - weights @ phases / weights.sum()
        quick = np.mean(np.diff(away, n=2, axis=1) ** 2, axis=1)
        slow = np.mean((away[:, lag:] - away[:, :-lag]) ** 2, axis=1)
        variance = quick + slow + 1e-16
        weights = 1.0 / (variance + 0.02 * variance.min())
    mean: Floats = weights @ phases / weights.sum()
    return mean
