"""NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, Individuals Charts: from memory."""

from __future__ import annotations

import pytest

from lessons.term.lookback.control import usual

FLOW_RATE = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def test_mean_moving_range_and_limits_are_those_printed():
    it = usual(FLOW_RATE)
    assert it.mean == pytest.approx(50.81, abs=5e-3)
    assert it.moving == pytest.approx(1.8778, abs=5e-5)
    # the handbook divides by 1.128 and prints four decimals; 2.66 is 3 / 1.128 rounded
    assert it.low == pytest.approx(45.8159, abs=2e-3)
    assert it.high == pytest.approx(55.8041, abs=2e-3)
    assert it.outside == ()
