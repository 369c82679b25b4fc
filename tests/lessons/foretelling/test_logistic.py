"""The small logistic model, against another library's on the same problem."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.foretelling.chances.logistic import (
    SD_COMMON,
    TRIED,
    Priors,
    fit,
    likeliest,
    mean_chance,
    odds_to_chance,
)

PRIORS = Priors(0.5, 0.7)


def spreads(found):
    columns, students = (
        np.full(found.k, found.priors.column),
        np.full(len(found.students), found.priors.student),
    )
    return np.concatenate([[SD_COMMON], columns, students])


def problem(seed=1, n=90, k=4, students=5):
    rng = np.random.default_rng(seed)
    x, whose = rng.normal(size=(n, k)), rng.integers(0, students, n)
    odds = 0.4 + x @ np.linspace(-0.8, 0.9, k) + 0.5 * (whose == 2)
    return x, (rng.random(n) < odds_to_chance(odds)).astype(float), whose


def test_it_is_where_statsmodels_puts_the_same_penalised_model():
    from statsmodels.api import GLM, families

    x, plays, whose = problem()
    ours = fit(x, plays, whose, PRIORS)
    rows = ours.rows(x, whose)
    precision = spreads(ours) ** -2.0
    # elastic net with only its squares, which stand in units of the number of rows
    theirs = GLM(plays, rows, family=families.Binomial()).fit_regularized(
        alpha=precision / len(x), L1_wt=0.0, maxiter=500, cnvrg_tol=1e-12
    )
    assert ours.values == pytest.approx(np.asarray(theirs.params), abs=2e-4)


def test_with_hardly_a_prior_it_is_the_usual_logistic_regression_and_its_covariance(monkeypatch):
    from statsmodels.api import GLM, families

    from lessons.foretelling.chances import logistic

    monkeypatch.setattr(logistic, "SD_COMMON", 1e4)
    x, plays, whose = problem(seed=2, n=300)
    ours = fit(x, plays, whose, Priors(column=1e4, student=1e-4))
    theirs = GLM(plays, np.column_stack([np.ones(len(x)), x]), family=families.Binomial()).fit()
    assert ours.values[:5] == pytest.approx(theirs.params, abs=1e-5)
    assert ours.covariance[:5, :5] == pytest.approx(theirs.cov_params(), rel=1e-3, abs=1e-6)


@given(st.integers(0, 10_000), st.sampled_from([8, 40, 120]), st.floats(0.1, 30.0))
def test_it_always_ends_at_the_top(seed, n, spread):
    x, plays, whose = problem(seed=seed, n=n)
    x = spread * x
    found = fit(x, plays, whose, PRIORS)
    rows = found.rows(x, whose)
    slope = rows.T @ (plays - odds_to_chance(rows @ found.values)) - found.values / spreads(found) ** 2
    assert np.abs(slope).max() < 1e-6 * max(1.0, spread)


def test_wherever_it_begins_it_ends_at_the_same_top():
    x, plays, whose = problem(seed=9)
    found = fit(x, plays, whose, PRIORS)
    begun = np.random.default_rng(9).normal(0.0, 0.5, len(found.values))
    again = fit(x, plays, whose, PRIORS, found.values + begun)
    assert again.values == pytest.approx(found.values, abs=1e-8)


def test_a_student_of_whom_little_is_known_is_drawn_to_the_others():
    x = np.zeros((52, 0))
    whose = np.array([1] * 25 + [2] * 25 + [3] * 2)
    plays = np.array([1.0] * 15 + [0.0] * 10 + [1.0] * 15 + [0.0] * 10 + [1.0] * 2)
    found = fit(x, plays, whose, PRIORS)
    chance = odds_to_chance(found.log_odds(np.zeros((1, 0)), np.zeros((1, 0)), np.array([3]))[0])[0]
    assert 0.6 < chance < 0.8


def test_a_doubtful_number_makes_the_log_odds_more_doubtful_and_the_chance_nearer_to_a_half():
    x, plays, whose = problem()
    found = fit(x, plays, whose, PRIORS)
    one, who = np.full((1, 4), 1.0), np.array([0])
    _odds, sure = found.log_odds(one, np.zeros((1, 4)), who)
    odds, doubtful = found.log_odds(one, np.ones((1, 4)), who)
    assert doubtful[0] - sure[0] == pytest.approx(float(found.columns @ found.columns))
    assert abs(mean_chance(odds, doubtful)[0] - 0.5) < abs(mean_chance(odds, sure)[0] - 0.5)


def test_mean_chance_is_the_mean_over_its_doubt():
    rng = np.random.default_rng(4)
    for odds, sd in ((0.0, 1.0), (1.2, 0.5), (-2.0, 1.5)):
        drawn = odds_to_chance(rng.normal(odds, sd, 200_000)).mean()
        assert mean_chance(np.array([odds]), np.array([sd**2]))[0] == pytest.approx(drawn, abs=0.01)


def test_chances_of_any_odds_lie_between_none_and_all():
    assert odds_to_chance(np.array([-1e4, 0.0, 1e4])).tolist() == [0.0, 0.5, 1.0]


@pytest.mark.parametrize("x", [np.zeros((0, 2)), np.array([[np.nan, 1.0]])])
def test_nothing_and_what_is_no_number_are_refused(x):
    with pytest.raises(ValueError, match="finite"):
        fit(x, np.zeros(len(x)), np.zeros(len(x), dtype=int), PRIORS)


def test_the_evidence_is_the_integral_over_all_models():
    """With an intercept and one column, summed on a fine grid; one student, held where it is."""
    rng = np.random.default_rng(6)
    x = rng.normal(size=(40, 1))
    plays = (rng.random(40) < odds_to_chance(0.5 + x[:, 0])).astype(float)
    priors = Priors(column=0.8, student=1e-6)
    grid = np.linspace(-4.0, 4.0, 401)
    common, column = np.meshgrid(grid, grid, indexing="ij")
    odds = common[..., None] + column[..., None] * x[:, 0]
    logs = (plays * odds - np.logaddexp(0.0, odds)).sum(axis=-1)
    logs = logs - 0.5 * (common / SD_COMMON) ** 2 - 0.5 * (column / priors.column) ** 2
    logs = logs - np.log(2 * np.pi * SD_COMMON * priors.column)
    integral = np.log(np.exp(logs - logs.max()).sum() * (grid[1] - grid[0]) ** 2) + logs.max()
    found = fit(x, plays, np.zeros(40, dtype=int), priors)
    assert found.evidence == pytest.approx(integral, abs=0.05)


@pytest.mark.parametrize(("apart", "chosen"), [(0.0, min), (2.0, max)])
def test_students_alike_are_drawn_together_and_students_far_apart_are_not(apart, chosen):
    rng = np.random.default_rng(7)
    whose = np.repeat(np.arange(12), 30)
    odds = np.repeat(rng.normal(0.0, apart, 12), 30) if apart else np.zeros(360)
    plays = (rng.random(360) < odds_to_chance(odds)).astype(float)
    found = likeliest(rng.normal(size=(360, 2)), plays, whose).priors
    assert found.student == chosen(priors.student for priors in TRIED)


def test_columns_that_decide_much_may_matter_more():
    rng = np.random.default_rng(8)
    x, whose = rng.normal(size=(400, 3)), np.repeat(np.arange(8), 50)
    plays = (rng.random(400) < odds_to_chance(x @ np.array([2.0, -1.5, 1.5]))).astype(float)
    assert likeliest(x, plays, whose).priors.column == max(priors.column for priors in TRIED)
