"""Agreement of two meters: Bland and Altman, Lancet i (1986) 307-310, first readings of both PEFR meters.

The paper's limits are two standard deviations from the bias, ours 1.96. Quoted from memory.
"""

import numpy as np
import pytest

from lessons.term.lookback.apart import apart

LARGE = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
SMALL = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
LESS = [large - small for large, small in zip(LARGE, SMALL, strict=True)]


def test_the_mean_difference_and_its_spread():
    it = apart(LESS)
    assert (it.n, round(it.bias, 1), round(it.sd, 1)) == (17, -2.1, 38.8)


def test_the_papers_limits_at_two_standard_deviations():
    """-79.7 and 75.5, reckoned there from a bias and a spread already rounded."""
    it = apart(LESS, limits=2)
    assert it.limits == pytest.approx((-79.7, 75.5), abs=0.1)
    bias, sd = round(it.bias, 1), round(it.sd, 1)
    assert (round(bias - 2 * sd, 1), round(bias + 2 * sd, 1)) == (-79.7, 75.5)


def test_ours_lie_at_1_96():
    low, high = apart(LESS).limits
    assert (low, high) == pytest.approx((-2.118 - 1.96 * 38.765, -2.118 + 1.96 * 38.765), abs=0.01)


def test_the_papers_interval_of_the_bias():
    assert apart(LESS).bias_interval == pytest.approx((-22.0, 17.8), abs=0.1)


def test_the_papers_intervals_of_the_limits():
    """The paper takes s sqrt(3/n) for their standard error, 16.3; the formula of 1999 has 16.6 at two SD."""
    it = apart(LESS, limits=2)
    assert it.low_interval == pytest.approx((-114.3, -45.1), abs=1.0)
    assert it.high_interval == pytest.approx((40.9, 110.1), abs=1.0)


def test_the_intervals_hold_what_they_say():
    """In 2,000 samples of 20 normal differences, true bias and true limits lie within as often as said."""
    rng, held = np.random.default_rng(7), np.zeros(3)
    for _ in range(2000):
        it = apart(rng.normal(0.3, 1.0, 20))
        truths = (0.3, 0.3 - 1.96, 0.3 + 1.96)
        found = (it.bias_interval, it.low_interval, it.high_interval)
        held += [low <= truth <= high for truth, (low, high) in zip(truths, found, strict=True)]
    assert held / 2000 == pytest.approx([0.95, 0.95, 0.95], abs=0.015)


def test_statsmodels_has_the_same_interval_of_the_bias():
    from statsmodels.stats.weightstats import DescrStatsW

    assert apart(LESS).bias_interval == pytest.approx(DescrStatsW(LESS).tconfint_mean(), abs=1e-9)
