"""Agreement of two ways of measuring against a published table."""

import pytest

from reeds.numbers.agreement import agreement
from reeds.numbers.measured import Measured

# Bland and Altman, Lancet i (1986) 307-310, table: peak expiratory flow by two meters, first readings
LARGE = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
SMALL = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]


def test_mean_difference_and_spread_are_the_published_ones():
    found = agreement([(Measured(a), Measured(b)) for a, b in zip(LARGE, SMALL, strict=True)])
    assert found.count == 17
    assert found.bias == pytest.approx(-2.1, abs=0.05)
    assert found.spread == pytest.approx(38.8, abs=0.05)
    assert found.u_bias == pytest.approx(38.8 / 17**0.5, abs=0.05)


def test_one_pair_has_no_spread_and_none_is_refused():
    found = agreement([(Measured(72.3, 0.1), Measured(72.0, 0.05))])
    assert (found.spread, found.u_bias, found.held) == (None, None, 0.0)
    with pytest.raises(ValueError, match="nothing"):
        agreement([])
