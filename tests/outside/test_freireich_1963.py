"""Kaplan and Meier's curve on the 6-MP data, against the published values and against lifelines and scipy.

Freireich et al., Blood 21 (1963) 699-716, the arm given 6-MP; also the data set that lifelines ships.
"""

import numpy as np
import pytest

from lessons.term.lookback.lasting import kaplan_meier

WEEKS = [6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35]
STILL = {3, 5, 7, 8, 11, 12, 13, 16, 17, 18, 19, 20}
ENDED = [place not in STILL for place in range(len(WEEKS))]

# quoted from memory
PUBLISHED = {6: 0.857, 7: 0.807, 10: 0.753, 13: 0.690, 16: 0.627, 22: 0.538, 23: 0.448}


def test_the_published_curve():
    steps = kaplan_meier(WEEKS, ENDED).steps
    assert {step.day: round(step.share, 3) for step in steps} == PUBLISHED


def test_the_published_median_and_how_many():
    it = kaplan_meier(WEEKS, ENDED)
    assert (it.n, it.ended, it.median, it.high) == (21, 9, 23, None)


def times():
    rng = np.random.default_rng(11)
    yield WEEKS, ENDED
    for n in (4, 25, 120):
        yield np.ceil(rng.exponential(20, n)), rng.random(n) < 0.6
    yield [1, 2, 3], [True] * 3


def told(days):
    """What lifelines calls infinite is not reached."""
    return None if np.isinf(days) else days


@pytest.mark.parametrize(("followed", "ended"), times())
def test_lifelines_has_the_same_curve_interval_and_median(followed, ended):
    from lifelines import KaplanMeierFitter
    from lifelines.utils import median_survival_times

    fit = KaplanMeierFitter().fit(followed, ended)
    it = kaplan_meier(followed, ended)
    for step in it.steps:
        assert fit.predict(step.day) == pytest.approx(step.share, abs=1e-12)
        low, high = fit.confidence_interval_survival_function_.loc[step.day]
        if step.share > 0:
            assert step.interval == pytest.approx((low, high), abs=1e-9)
    assert it.median == told(fit.median_survival_time_)
    if it.steps[-1].share > 0:
        low, high = median_survival_times(fit.confidence_interval_survival_function_).iloc[0]
        assert (it.low, it.high) == (told(low), told(high))


@pytest.mark.parametrize(("followed", "ended"), times())
def test_scipy_has_the_same_curve(followed, ended):
    from scipy.stats import CensoredData, ecdf

    followed, ended = np.asarray(followed, float), np.asarray(ended, bool)
    curve = ecdf(CensoredData(uncensored=followed[ended], right=followed[~ended])).sf
    for step in kaplan_meier(followed, ended).steps:
        assert curve.evaluate(step.day) == pytest.approx(step.share, abs=1e-12)
