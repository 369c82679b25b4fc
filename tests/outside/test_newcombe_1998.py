"""Newcombe, Statistics in Medicine 17 (1998) 857-872, Table I, method 3 (Wilson): quoted from memory."""

from __future__ import annotations

import pytest

from lessons.term.lookback.rates import share


@pytest.mark.parametrize(
    ("count", "n", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilson_intervals_are_those_printed(count, n, low, high):
    it = share(count, n)
    assert it.low == pytest.approx(low, abs=5e-5)
    assert it.high == pytest.approx(high, abs=5e-5)
