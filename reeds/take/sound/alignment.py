"""Lays the notes that were asked for beside the notes that were heard, in order."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

MOST_CENTS_OFF = 150.0
# costs without a unit, calibrated
_WRONG_NOTE = 1.0
_OFF_AT_MOST = 0.4
_ONLY_AIR = 0.5
_MISSED = 0.8
_EXTRA_TONE = 0.7
_EXTRA_AIR = 0.05


def aligned(expected_cents: Sequence[float], heard_cents: Sequence[float | None]) -> list[int | None]:
    """Return for each expected note which segment answers it, in order, or None.

    The cheapest alignment (dynamic programming, as an edit distance): a segment within 150 cents costs by its
    distance, air alone or a wrong note more, a missing note and a segment over more still.

    Parameters
    ----------
    expected_cents : sequence of float
        The notes asked for, in cents on any common scale.
    heard_cents : sequence of float or None
        What the segments sounded, same scale; None where only air was heard.
    """
    rows, columns = len(expected_cents), len(heard_cents)
    extra = [_EXTRA_AIR if cents is None else _EXTRA_TONE for cents in heard_cents]
    cost = np.full((rows + 1, columns + 1), np.inf)
    cost[0, :] = np.concatenate([[0.0], np.cumsum(extra)])
    cost[:, 0] = _MISSED * np.arange(rows + 1)
    for i in range(1, rows + 1):
        for j in range(1, columns + 1):
            both = cost[i - 1, j - 1] + _pair_cost(expected_cents[i - 1], heard_cents[j - 1])
            cost[i, j] = min(both, cost[i - 1, j] + _MISSED, cost[i, j - 1] + extra[j - 1])
    return _read_back(cost, expected_cents, heard_cents, extra)


def _pair_cost(expected: float, heard: float | None) -> float:
    if heard is None:
        return _ONLY_AIR
    off = abs(heard - expected)
    return _OFF_AT_MOST * off / MOST_CENTS_OFF if off <= MOST_CENTS_OFF else _WRONG_NOTE


def _read_back(
    cost: np.ndarray, expected: Sequence[float], heard: Sequence[float | None], extra: list[float]
) -> list[int | None]:
    i, j = len(expected), len(heard)
    pairs: list[int | None] = [None] * i
    while i > 0:
        if j > 0 and np.isclose(cost[i, j], cost[i - 1, j - 1] + _pair_cost(expected[i - 1], heard[j - 1])):
            i, j = i - 1, j - 1
            pairs[i] = j
        elif j > 0 and np.isclose(cost[i, j], cost[i, j - 1] + extra[j - 1]):
            j -= 1
        else:
            i -= 1
    return pairs
