"""Comparisons within strata beside statsmodels, scipy and published examples on the same data."""

import numpy as np
import pytest
from scipy import stats

from lessons.comparison.inference.association import association
from lessons.comparison.inference.compared import Measure, compare
from lessons.comparison.inference.pairs import concordance, variance_of_s
from lessons.comparison.inference.several import holm
from lessons.comparison.inference.shares import difference_of_shares
from lessons.comparison.inference.shifts import shift
from lessons.comparison.inference.strata import Case, laid

RANDOM = np.random.default_rng(1126)


def table(stratum, a, b, c, d):
    """A two by two table: yes and no of the one group, yes and no of the other."""
    rows = [("a", 1.0)] * a + [("a", 0.0)] * b + [("b", 1.0)] * c + [("b", 0.0)] * d
    return [Case((stratum,), level, outcome) for level, outcome in rows]


# UC Berkeley's admissions of 1973 by department (Bickel, Hammel, O'Connell, Science 187 (1975) 398-404; the
# counts as in R's UCBAdmissions): men admitted and rejected, women admitted and rejected
BERKELEY = [
    (512, 313, 89, 19),
    (353, 207, 17, 8),
    (120, 205, 202, 391),
    (138, 279, 131, 244),
    (53, 138, 94, 299),
    (22, 351, 24, 317),
]


def test_mantel_haenszel_of_berkeleys_admissions_is_that_of_statsmodels():
    from statsmodels.stats.contingency_tables import StratifiedTable

    tables = [np.array([[a, b], [c, d]], dtype=float) for a, b, c, d in BERKELEY]
    expected = StratifiedTable(tables).test_null_odds(correction=False)
    cases = [case for n, row in enumerate(BERKELEY) for case in table(n, *row)]
    found = association(laid(cases), permutations=19)
    assert found.statistic == pytest.approx(expected.statistic, rel=1e-9)
    # in R's help of mantelhaen.test: 1.5246 (without continuity correction)
    assert found.statistic == pytest.approx(1.5246, abs=1e-4)


@pytest.mark.parametrize("seed", range(5))
def test_its_permutation_p_is_that_of_scipys_hypergeometric_law(seed):
    """Within strata with fixed margins the yeses of the one group follow it; their sum by convolution."""
    counts = np.random.default_rng(seed).integers(1, 12, (5, 4))
    law, expected = np.ones(1), 0.0
    for a, b, c, d in counts:
        places = np.arange(a + b + 1)
        law = np.convolve(law, stats.hypergeom.pmf(places, a + b + c + d, a + c, a + b))
        expected += (a + b) * (a + c) / (a + b + c + d)
    off = np.abs(np.arange(len(law)) - expected)
    exact = law[off >= abs(counts[:, 0].sum() - expected) - 1e-9].sum()
    cases = [case for n, row in enumerate(counts) for case in table(n, *row)]
    assert association(laid(cases), 9999).p == pytest.approx(exact, abs=0.02)


def test_of_one_small_table_it_is_scipys_permutation_test():
    cases = table(1, 7, 2, 3, 8)
    data = laid(cases)
    a, b = data.outcome[data.factor == 0], data.outcome[data.factor == 1]

    def apart(x, y, axis):
        return np.abs(np.mean(x, axis=axis) - np.mean(y, axis=axis))

    exact = stats.permutation_test((a, b), apart, vectorized=True, n_resamples=np.inf, alternative="greater")
    assert association(data, 19999).p == pytest.approx(exact.pvalue, abs=0.01)


def test_of_ranks_in_two_groups_it_is_mann_and_whitney():
    a, b = RANDOM.normal(0, 1, 14), RANDOM.normal(0.7, 1, 17)
    data = laid([Case((1,), "a", v) for v in a] + [Case((1,), "b", v) for v in b])
    plain = stats.mannwhitneyu(a, b, method="asymptotic", use_continuity=False)
    found = association(data, 19)
    assert stats.chi2.sf(found.statistic, 1) == pytest.approx(plain.pvalue, rel=1e-9)


def test_of_ranks_in_several_groups_it_is_kruskal_and_wallis():
    groups = [np.round(RANDOM.normal(m, 1, 9), 1) for m in (0, 0.4, 0.8)]
    data = laid([Case((1,), "abc"[n], v) for n, group in enumerate(groups) for v in group])
    assert association(data, 19).statistic == pytest.approx(stats.kruskal(*groups).statistic, rel=1e-9)


def test_of_amounts_it_is_spearman():
    x, y = RANDOM.normal(size=25), np.round(RANDOM.normal(size=25), 1)
    data = laid([Case((1,), float(v), float(w)) for v, w in zip(x, y, strict=True)])
    r = stats.spearmanr(x, y).statistic
    assert association(data, 19).statistic == pytest.approx(24 * r**2, rel=1e-9)


def test_with_a_stratum_a_pair_its_p_is_friedmans():
    """Blocks with one reed of each lot: ranks within blocks, tested by Friedman's statistic."""
    blocks = RANDOM.normal(size=(12, 3)) + np.array([0, 0.5, 1.0])
    cases = [Case((n,), "abc"[k], float(v)) for n, row in enumerate(blocks) for k, v in enumerate(row)]
    expected = stats.friedmanchisquare(*blocks.T).statistic
    assert association(laid(cases), 19).statistic == pytest.approx(expected, rel=1e-9)


# Newcombe, Statistics in Medicine 17 (1998) 873-890, table II, Miettinen and Nurminen's; from memory.
# The last as in the tests of the package to Fagerland, Lydersen and Laake, Statistical Analysis of
# Contingency Tables (2017).
NEWCOMBE = [
    (56, 70, 48, 80, 0.0528, 0.3382),
    (9, 10, 3, 10, 0.1700, 0.8406),
    (6, 7, 2, 7, 0.0342, 0.8534),
    (5, 56, 0, 29, -0.0326, 0.1933),
    (0, 10, 0, 20, -0.1658, 0.2844),
    (0, 10, 0, 10, -0.2879, 0.2879),
    (10, 10, 0, 20, 0.7156, 1.0),
    (10, 10, 0, 10, 0.6636, 1.0),
    (2, 10, 1, 10, -0.2595, 0.4454),
]


@pytest.mark.parametrize(("x1", "n1", "x0", "n0", "low", "high"), NEWCOMBE)
def test_the_interval_of_one_table_is_miettinen_and_nurminens(x1, n1, x0, n0, low, high):
    data = laid(table(1, x1, n1 - x1, x0, n0 - x0))
    effect = difference_of_shares(data.outcome, data.indicator(0), data.stratum)
    assert effect.value == pytest.approx(x1 / n1 - x0 / n0)
    assert (effect.low, effect.high) == pytest.approx((low, high), abs=5.1e-5)


def test_the_interval_leaves_out_nothing_just_where_mantel_haenszel_rejects():
    for seed in range(60):
        random = np.random.default_rng([3, seed])
        cases = [case for n, row in enumerate(random.integers(0, 9, (4, 4))) for case in table(n, *row)]
        compared = compare(cases, Measure.SHARES, 19)
        (contrast,) = compared.contrasts
        rejects = compared.association.statistic > stats.chi2.isf(0.05, 1)
        assert rejects == (contrast.effect.low > 0 or contrast.effect.high < 0), seed


def test_the_shift_of_one_stratum_is_hodges_and_lehmanns_and_its_limits_leave_out_what_is_rejected():
    a, b = RANDOM.normal(3, 1, 15), RANDOM.normal(0, 1, 18)
    data = laid([Case((1,), "a", v) for v in a] + [Case((1,), "b", v) for v in b])
    effect = shift(data.outcome, data.indicator(0), data.stratum)
    assert effect.value == pytest.approx(np.median(np.subtract.outer(a, b)))
    for delta, inside in ((effect.low - 0.02, False), (effect.low + 0.02, True), (effect.high + 0.02, False)):
        p = stats.mannwhitneyu(a - delta, b, method="asymptotic", use_continuity=False).pvalue
        assert bool(p > 0.05) is inside, delta


def test_kendalls_variance_with_ties_is_scipys():
    x, y = RANDOM.integers(0, 5, 22).astype(float), RANDOM.integers(0, 4, 22).astype(float)
    s = (np.sign(np.subtract.outer(x, x)) * np.sign(np.subtract.outer(y, y))).sum() / 2
    z = s / np.sqrt(variance_of_s(x, y))
    expected = stats.kendalltau(x, y, method="asymptotic").pvalue
    assert 2 * stats.norm.sf(abs(z)) == pytest.approx(expected, rel=1e-9)


def test_pairs_of_one_stratum_are_goodman_and_kruskals_gamma():
    """Income and job satisfaction: Agresti, Categorical Data Analysis (1990), 2.2; from memory.

    1331 pairs agree, 849 do not: gamma is 0.221.
    """
    counts = np.array([[1, 3, 10, 6], [2, 3, 10, 7], [1, 6, 14, 12], [0, 1, 9, 11]])
    x, y = (np.repeat(place.ravel(), counts.ravel()).astype(float) for place in np.indices(counts.shape))
    effect = concordance(x, y, np.zeros(len(x), dtype=np.int64))
    assert effect.value == pytest.approx(1331 / (1331 + 849))
    assert 2 * effect.value - 1 == pytest.approx(0.221, abs=5e-4)


def test_holms_own_steps():
    """Benjamini and Hochberg (1995), section 4: fifteen p, of which Holm's steps at 0.05 reject three."""
    ps = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344]
    ps += [0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0]
    assert [p <= 0.05 for p in holm(ps)] == [True] * 3 + [False] * 12


@pytest.mark.parametrize("seed", range(20))
def test_holm_is_that_of_statsmodels(seed):
    from statsmodels.stats.multitest import multipletests

    ps = np.random.default_rng(seed).random(seed % 9 + 1) ** 3
    assert holm(list(ps)) == pytest.approx(multipletests(ps, method="holm")[1])
