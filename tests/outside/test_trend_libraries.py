"""Theil's and Sen's slope and Kendall's test against scipy and pymannkendall on the same numbers."""

import numpy as np
import pytest

from lessons.term.lookback.trend import trend, variances


def series():
    rng = np.random.default_rng(1968)
    for n in (6, 7, 12, 40):
        days, values = np.sort(rng.random(n) * 100), rng.normal(size=n) + np.arange(n) * 0.05
        yield days, values
        yield np.round(days, -1), np.round(values * 2)
    yield np.arange(9.0), np.full(9, 3.0)


@pytest.mark.parametrize(("days", "values"), series())
def test_scipy_has_the_same_slope_and_interval(days, values):
    from scipy.stats import theilslopes

    slope, _, low, high = theilslopes(values, days, 0.95)
    it = trend(days, values)
    assert (it.slope, *it.interval) == pytest.approx((slope, low, high), abs=1e-12)


@pytest.mark.parametrize(("days", "values"), list(series())[:-1])
def test_scipys_kendall_differs_by_the_continuity_alone(days, values):
    from scipy.stats import kendalltau, norm

    z = norm.isf(kendalltau(days, values, method="asymptotic").pvalue / 2)
    spread = np.sqrt(variances(days, values, np.zeros(len(days), dtype=np.int64))[0])
    assert trend(days, values).p == pytest.approx(2 * norm.sf(max(z - 1 / spread, 0)), abs=1e-9)


def evenly():
    rng = np.random.default_rng(1945)
    return [np.round(rng.normal(size=n) + np.arange(n) * 0.04, 1) for n in (10, 30, 75)]


@pytest.mark.parametrize("values", evenly())
def test_pymannkendall_has_the_same_test_and_slope(values):
    from pymannkendall import original_test

    theirs, ours = original_test(values), trend(np.arange(float(len(values))), values)
    assert (ours.p, ours.slope) == pytest.approx((theirs.p, theirs.slope), abs=1e-12)


def test_pymannkendall_has_the_same_test_and_slope_within_groups():
    from pymannkendall import seasonal_test

    rng = np.random.default_rng(1982)
    rows, students = 15, 4
    apart = np.tile([0.0, 5.0, 2.0, 9.0], rows)
    values = np.round(
        rng.normal(size=rows * students) + np.repeat(np.arange(rows), students) * 0.07 + apart, 1
    )
    theirs = seasonal_test(values, period=students)
    ours = trend(np.repeat(np.arange(float(rows)), students), values, np.tile(range(students), rows))
    assert (ours.p, ours.slope) == pytest.approx((theirs.p, theirs.slope), abs=1e-12)


def test_the_interval_of_a_median_is_scipys_quantile_test():
    from scipy.stats import quantile_test

    from lessons.term.lookback.middle import middle

    rng = np.random.default_rng(1999)
    for n in (6, 7, 10, 15, 20, 33, 101):
        values = rng.normal(size=n)
        interval = quantile_test(values, p=0.5).confidence_interval(confidence_level=0.95)
        assert middle(values).interval == pytest.approx((interval.low, interval.high), abs=1e-12)


@pytest.mark.parametrize(("n", "rank"), [(5, 0), (6, 1), (9, 2), (10, 2), (12, 3), (15, 4), (20, 6)])
def test_the_ranks_of_the_published_table(n, rank):
    """Ranks of the 95 % interval of a median, as tables have them (Conover 1999, appendix); from memory."""
    from lessons.term.lookback.middle import rank_of

    assert rank_of(n) == rank
