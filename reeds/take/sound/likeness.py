"""Whether a short tone sounds like the player's long ones: by its partials and how regular they are."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reeds.take.sound.signals import HOP_S, LOWEST_HZ, Floats, Segment, Tracks

# all calibrated, on voices that were long enough and held a pitch
_SHORT_S, _ENDS_SHARE = 0.6, 0.2
_WINDOW_S, _LINE_SHARE, _HIGHEST_HZ = 0.064, 0.2, 5600.0
_COLOUR_HZ, _COLOUR_POINTS, _SMOOTH_OCTAVES = (450.0, 4800.0), 12, 0.25
_MOST_UNLIKE_DB, _REGULAR_SHARE = 10.5, 0.5
_LEAST_REGULAR = 1e-4


def sounds_alike(tracks: Tracks, segments: Sequence[Segment]) -> list[bool]:
    """Return which segments are long, or like those that are.

    A voice differs from an oboe in the strength of its partials and in how regular they are: the two
    differences, in dB, are added. Long tones are never doubted, and without any nothing is.
    """
    lengths = [(segment.end - segment.onset) * HOP_S for segment in segments]
    is_long = [length >= _SHORT_S for length in lengths]
    if not any(is_long) or all(is_long):
        return [True] * len(segments)
    known = [_sound(tracks, one) for one, long in zip(segments, is_long, strict=True) if long]
    usual = np.median(known, axis=0)
    return [
        long or (segment.sounded and _unlike_db(_sound(tracks, segment), usual) < _MOST_UNLIKE_DB)
        for segment, long in zip(segments, is_long, strict=True)
    ]


def _unlike_db(sound: Floats, usual: Floats) -> float:
    """How much the colour differs, root of the mean square, and how much less regular it is; both dB."""
    apart = sound[:-1] - usual[:-1]
    colour = float(np.std(apart))
    return colour + _REGULAR_SHARE * max(0.0, float(usual[-1] - sound[-1]))


def _sound(tracks: Tracks, segment: Segment) -> Floats:
    """The colour of the middle of a tone at fixed frequencies, dB re its median, then its regularity, dB."""
    ends = int(_ENDS_SHARE * (segment.end - segment.onset))
    inner = slice(segment.onset + ends, segment.end - ends)
    strength = float(np.median(tracks.strength[inner]))
    regular_db = 10.0 * np.log10(max(strength, _LEAST_REGULAR) / (1.0 - strength + _LEAST_REGULAR))
    return np.append(_colour_db(tracks, inner), regular_db)


def _colour_db(tracks: Tracks, inner: slice) -> Floats:
    heard = tracks.hz[inner][tracks.hz[inner] > 0]
    hz = float(np.median(heard)) if len(heard) else LOWEST_HZ
    f, power = _mean_power(tracks, inner)
    numbers = np.arange(1, int(_HIGHEST_HZ / hz) + 1)
    peaks = np.array([power[np.abs(f - k * hz) < _LINE_SHARE * hz].max() for k in numbers])
    at = np.geomspace(*_COLOUR_HZ, _COLOUR_POINTS)
    octaves = np.log2(numbers[None, :] * hz / at[:, None])
    near = np.exp(-0.5 * (octaves / _SMOOTH_OCTAVES) ** 2) + 1e-9
    level: Floats = 10.0 * np.log10((near @ peaks) / near.sum(axis=1) + 1e-12)
    return level - np.median(level)


def _mean_power(tracks: Tracks, inner: slice) -> tuple[Floats, Floats]:
    size = round(_WINDOW_S * tracks.rate_hz)
    x = tracks.samples[round(inner.start * HOP_S * tracks.rate_hz) :][
        : max(size, round((inner.stop - inner.start) * HOP_S * tracks.rate_hz))
    ]
    x = np.pad(x, (0, max(0, size - len(x))))
    frames = np.lib.stride_tricks.sliding_window_view(x, size)[:: size // 2] * np.hanning(size)
    power = (np.abs(np.fft.rfft(frames, 4 * size, axis=1)) ** 2).mean(axis=0)
    return np.fft.rfftfreq(4 * size, 1.0 / tracks.rate_hz).astype(np.float64), power.astype(np.float64)
