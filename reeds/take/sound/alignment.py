"""Lays the notes that were asked for beside the notes that were heard: in order, in another, or all moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

MOST_CENTS_OFF = 70.0
# one note alone has no others that say how the player is tuned
MOST_CENTS_OFF_ALONE = 100.0
# costs without a unit, calibrated
_WRONG_NOTE = 1.0
_OFF_AT_MOST = 0.4
_NEARER_TO_ANOTHER = 0.6
_ONLY_AIR = 0.5
_MISSED = 0.8
_EXTRA_TONE, _REPEATED, _EXTRA_AIR = 0.7, 0.25, 0.05
_SWAPPED = 0.6
_MOVED, _TUNED_OTHERWISE_A_CENT = 1.0, 0.002
# of a shift that is tried, and of one that is still the same list on another A
_SHIFT_STEP_CENTS, _LARGEST_SHIFT_CENTS, _SAME_LIST_CENTS = 20.0, 1250.0, 70.0
_FEWEST_MOVED, _MOVED_SHARE = 3, 0.75

Heard = Sequence[float | None]
Pairs = list[int | None]


@dataclass(frozen=True)
class Alignment:
    """Which segment answers which note.

    Attributes
    ----------
    places : list of int or None
        For each expected note the segment that answers it, whatever it sounded; None where none does.
    shift_cents : float
        How much higher than asked all notes lie together.
    is_moved : bool
        Whether that is more than another A: another list, or a transposition.
    swapped : tuple of int
        The first of each two expected notes that were played the other way round.
    """

    places: Pairs
    shift_cents: float = 0.0
    is_moved: bool = False
    swapped: tuple[int, ...] = ()


def aligned(expected_cents: Sequence[float], heard_cents: Heard) -> Alignment:
    """Return the cheapest alignment (an edit distance with swaps), over all shifts that a pair suggests.

    A missing note, one over, one played twice, two swapped and a wrong one have their costs; so has a shift
    of all notes, which nobody believes of fewer than three notes.

    Parameters
    ----------
    expected_cents : sequence of float
        The notes asked for, in cents on any common scale.
    heard_cents : sequence of float or None
        What the segments sounded, same scale; None where only air was heard.
    """
    tried = [_at_shift(expected_cents, heard_cents, shift) for shift in _shifts(expected_cents, heard_cents)]
    return min(tried, key=lambda pair: pair[0])[1]


def is_answer(heard: float, expected: float, count: int, shift_cents: float = 0.0) -> bool:
    """Whether a pitch is the expected note of a list of `count`, in cents on one scale."""
    return abs(heard - expected - shift_cents) <= (MOST_CENTS_OFF if count > 1 else MOST_CENTS_OFF_ALONE)


def _shifts(expected: Sequence[float], heard: Heard) -> list[float]:
    if len(expected) < 2:
        return [0.0]
    apart = [h - e for e in expected for h in heard if h is not None and abs(h - e) < _LARGEST_SHIFT_CENTS]
    return sorted({0.0, *(_SHIFT_STEP_CENTS * round(one / _SHIFT_STEP_CENTS) for one in apart)}, key=abs)


def _at_shift(expected: Sequence[float], heard: Heard, shift: float) -> tuple[float, Alignment]:
    moved = [one + shift for one in expected]
    cost, swaps = _costs(moved, heard)
    places, swapped = _read_back(cost, swaps, moved, heard)
    total = float(cost[-1, -1])
    if abs(shift) <= _SAME_LIST_CENTS:
        return total + _TUNED_OTHERWISE_A_CENT * abs(shift), Alignment(places, shift, swapped=swapped)
    pairs = zip(places, moved, strict=True)
    answered = sum(_answers(heard, place, one, len(moved)) for place, one in pairs)
    enough = answered >= max(_FEWEST_MOVED, _MOVED_SHARE * len(moved))
    return (total + _MOVED if enough else np.inf), Alignment(places, shift, True, swapped)


def _answers(heard: Heard, place: int | None, expected: float, count: int) -> bool:
    cents = None if place is None else heard[place]
    return cents is not None and is_answer(cents, expected, count)


def _costs(expected: Sequence[float], heard: Heard) -> tuple[np.ndarray, np.ndarray]:
    """Cost of the first i notes on the first j segments, and where the last two of both are swapped."""
    extra = _extra(heard)
    cost = np.full((len(expected) + 1, len(heard) + 1), np.inf)
    swaps = np.zeros(cost.shape, dtype=bool)
    cost[0, :] = np.concatenate([[0.0], np.cumsum(extra)])
    cost[:, 0] = _MISSED * np.arange(len(expected) + 1)
    for i in range(1, len(expected) + 1):
        for j in range(1, len(heard) + 1):
            both = cost[i - 1, j - 1] + _pair_cost(expected, heard, i - 1, j - 1)
            cost[i, j] = min(both, cost[i - 1, j] + _MISSED, cost[i, j - 1] + extra[j - 1])
            crossed = _crossed(cost, expected, heard, i, j)
            swaps[i, j] = crossed < cost[i, j] - 1e-9
            cost[i, j] = min(cost[i, j], crossed)
    return cost, swaps


def _extra(heard: Heard) -> list[float]:
    """What each segment costs that answers no note: least where it is air, or a neighbour once more."""
    return [
        _EXTRA_AIR if one is None else _REPEATED if _is_repeated(heard, j, one) else _EXTRA_TONE
        for j, one in enumerate(heard)
    ]


def _is_repeated(heard: Heard, j: int, cents: float) -> bool:
    beside = [*heard[max(0, j - 1) : j], *heard[j + 1 : j + 2]]
    return any(one is not None and abs(one - cents) < MOST_CENTS_OFF for one in beside)


def _pair_cost(expected: Sequence[float], heard: Heard, i: int, j: int) -> float:
    cents = heard[j]
    if cents is None:
        return _ONLY_AIR
    if not is_answer(cents, expected[i], len(expected)):
        return _WRONG_NOTE
    off = [abs(cents - one) for one in expected]
    # a neighbour a semitone away must not be bent into this note by a shift of all
    return _OFF_AT_MOST * off[i] / MOST_CENTS_OFF + _NEARER_TO_ANOTHER * (min(off) < off[i])


def _crossed(cost: np.ndarray, expected: Sequence[float], heard: Heard, i: int, j: int) -> float:
    if i < 2 or j < 2:
        return float(np.inf)
    pairs = ((i - 2, j - 1), (i - 1, j - 2))
    costs = [_pair_cost(expected, heard, *pair) for pair in pairs]
    if max(costs) > _OFF_AT_MOST:
        return float(np.inf)
    return float(cost[i - 2, j - 2] + _SWAPPED + sum(costs))


def _read_back(
    cost: np.ndarray, swaps: np.ndarray, expected: Sequence[float], heard: Heard
) -> tuple[Pairs, tuple[int, ...]]:
    i, j, extra = len(expected), len(heard), _extra(heard)
    pairs: Pairs = [None] * i
    swapped: list[int] = []
    while i > 0:
        if swaps[i, j]:
            i, j = i - 2, j - 2
            pairs[i], pairs[i + 1] = j + 1, j
            swapped.insert(0, i)
        elif j > 0 and np.isclose(cost[i, j], cost[i - 1, j - 1] + _pair_cost(expected, heard, i - 1, j - 1)):
            i, j = i - 1, j - 1
            pairs[i] = j
        elif j > 0 and np.isclose(cost[i, j], cost[i, j - 1] + extra[j - 1]):
            j -= 1
        else:
            i -= 1
    return pairs, tuple(swapped)
