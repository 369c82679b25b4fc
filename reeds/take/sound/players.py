"""Which of the tones are the player's notes: long, loud, steady, and of an oboe's sound, unlike talk."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reeds.take.sound.likeness import sounds_alike
from reeds.take.sound.signals import HOP_S, LOWEST_HZ, Segment, Tracks, cents_of

# all calibrated but the first, which is the contract
LEAST_S, LEAST_SHARE = 0.25, 0.5
_BELOW_LOUDEST_DB, _ALWAYS_A_NOTE_S = 18.0, 1.0
_ATTACK_SHARE, _MEAN_OVER_S, _GLIDE_CENTS = 0.2, 0.2, 45.0


def could_be_notes(tracks: Tracks, segments: Sequence[Segment], lowest_hz: float = LOWEST_HZ) -> list[bool]:
    """Return which segments may be the player's notes.

    They hold a pitch that an oboe has for 0.25 s or half the others, and sound like the long ones of them.
    """
    held = [
        one.sounded and _middle_hz(tracks, one) >= lowest_hz and _holds_pitch(tracks, one) for one in segments
    ]
    lengths = [_length_s(one) for one, is_held in zip(segments, held, strict=True) if is_held]
    shortest = min(LEAST_S, LEAST_SHARE * _usual_s(lengths))
    able = [is_held and _length_s(one) >= shortest for one, is_held in zip(segments, held, strict=True)]
    alike = iter(sounds_alike(tracks, [one for one, can in zip(segments, able, strict=True) if can]))
    return [can and next(alike) for can in able]


def _usual_s(lengths: Sequence[float]) -> float:
    """The length of the tone in which half of all that sounds has gone by: scraps of talk weigh little."""
    ordered = np.sort(np.asarray(lengths))
    return (
        float(ordered[np.searchsorted(np.cumsum(ordered), ordered.sum() / 2.0)]) if len(ordered) else LEAST_S
    )


def loud_ones(tracks: Tracks, segments: Sequence[Segment], able: Sequence[bool]) -> list[bool]:
    """Return which of the able segments lie within 18 dB of the loudest of them."""
    levels = [_level(tracks, one) if can else -np.inf for one, can in zip(segments, able, strict=True)]
    faintest = max(levels, default=0.0) - _BELOW_LOUDEST_DB
    return [can and level >= faintest for can, level in zip(able, levels, strict=True)]


def _length_s(segment: Segment) -> float:
    return (segment.end - segment.onset) * HOP_S


def _middle_hz(tracks: Tracks, segment: Segment) -> float:
    hz = tracks.hz[segment.onset : segment.end]
    return float(np.median(hz[hz > 0])) if (hz > 0).any() else 0.0


def _level(tracks: Tracks, segment: Segment) -> float:
    return float(np.median(tracks.level_db[segment.onset : segment.end]))


def _holds_pitch(tracks: Tracks, segment: Segment) -> bool:
    """Whether the mean pitch over 0.2 s stays where it is: talk glides, vibrato comes back."""
    if _length_s(segment) >= _ALWAYS_A_NOTE_S:
        return True
    hz = tracks.hz[segment.onset : segment.end]
    cents = cents_of(hz[hz > 0], float(np.median(hz[hz > 0])))
    cents = cents[int(_ATTACK_SHARE * len(cents)) :]
    width = max(1, min(round(_MEAN_OVER_S / HOP_S), len(cents) // 2))
    mean = np.convolve(cents, np.ones(width) / width, "valid")
    low, high = np.percentile(mean, [5.0, 95.0])
    return bool(high - low < _GLIDE_CENTS)
