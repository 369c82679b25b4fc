"""Comparing within strata: what must not move a figure, and what must."""

import random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.comparison.inference.compared import FEWEST_TELLING, Measure, Verdict, cells, compare
from lessons.comparison.inference.pairs import concordance
from lessons.comparison.inference.shares import difference_of_shares
from lessons.comparison.inference.shifts import shift
from lessons.comparison.inference.strata import Case, laid
from tests.lessons.comparison.studios import graded_null_studio, helped_studio, null_studio

FEW = 299
SOME_CASES = st.lists(
    st.builds(
        Case,
        st.tuples(st.integers(0, 2)),
        st.sampled_from(["long", "short", "never"]),
        st.sampled_from([0.0, 1.0]),
    ),
    min_size=1,
    max_size=30,
)
SOME_AMOUNTS = st.lists(
    st.builds(Case, st.tuples(st.integers(0, 2)), st.floats(0, 60), st.sampled_from([1.0, 2.0, 3.0])),
    min_size=1,
    max_size=25,
)


def of_shares(cases, permutations=FEW):
    return compare(cases, Measure.SHARES, permutations)


# --- what must not move a figure ------------------------------------------------------------------


@given(SOME_CASES, st.randoms())
def test_shuffled_rows_change_nothing(cases, chance: random.Random):
    shuffled = chance.sample(cases, len(cases))
    assert of_shares(shuffled) == of_shares(cases)


@given(SOME_AMOUNTS, st.randoms())
def test_shuffled_rows_of_amounts_change_nothing(cases, chance: random.Random):
    shuffled = chance.sample(cases, len(cases))
    assert compare(shuffled, Measure.PAIRS, FEW) == compare(cases, Measure.PAIRS, FEW)


@given(SOME_CASES, st.sampled_from(["long", "short"]), st.integers(1, 20))
def test_a_stratum_with_one_level_tells_nothing(cases, level, more):
    alone = [Case((9,), level, float(one % 2)) for one in range(more)]
    with_it, without = of_shares([*cases, *alone]), of_shares(cases)
    assert with_it.known == without.known + more
    assert (with_it.telling, with_it.association, with_it.contrasts) == (
        without.telling,
        without.association,
        without.contrasts,
    )


@given(SOME_AMOUNTS, st.floats(0.1, 50), st.floats(-9, 9))
def test_another_unit_of_rest_changes_no_p(cases, scale, moved):
    other = [case._replace(factor=round(case.factor * 4) * scale + moved) for case in cases]
    same = [case._replace(factor=float(round(case.factor * 4))) for case in cases]
    assert compare(other, Measure.PAIRS, FEW).p == compare(same, Measure.PAIRS, FEW).p


@given(SOME_CASES)
def test_an_interval_holds_its_value_and_stays_within_what_can_be(cases):
    for contrast in of_shares(cases, 19).contrasts:
        effect = contrast.effect
        assert -1 <= effect.low <= effect.value + 1e-9
        assert effect.value <= effect.high + 1e-9 <= 1 + 2e-9


@given(SOME_CASES)
def test_no_yes_becomes_a_no_by_being_told_the_other_way_round(cases):
    other = [case._replace(outcome=1 - case.outcome) for case in cases]
    there, back = of_shares(cases, 19), of_shares(other, 19)
    assert there.association.statistic == pytest.approx(back.association.statistic, abs=1e-9)
    for one, its in zip(there.contrasts, back.contrasts, strict=True):
        assert one.effect.value == pytest.approx(-its.effect.value)
        assert one.effect.low == pytest.approx(-its.effect.high, abs=1e-6)


def test_nothing_at_all_and_all_alike_are_too_few():
    for cases in ([], [Case((1,), "long", 1.0)] * 20, [Case((n,), "ab"[n % 2], 1.0) for n in range(20)]):
        compared = of_shares(cases)
        assert compared.p == 1.0
        assert compared.verdict(0.0, 0.25) is Verdict.TOO_FEW


def test_fewer_than_eight_that_tell_say_nothing_however_clear():
    seven = [Case((1,), "ab"[n % 2], float(n % 2)) for n in range(FEWEST_TELLING - 1)]
    assert of_shares(seven).verdict(0.0, 0.25) is Verdict.TOO_FEW
    assert of_shares([*seven, Case((1,), "b", 1.0)]).verdict(0.01, 0.25) is Verdict.DIFFERS


@pytest.mark.parametrize("wrong", [float("nan"), float("inf")])
def test_a_number_that_is_none_is_refused(wrong):
    with pytest.raises(ValueError, match="finite"):
        compare([Case((1,), "long", wrong), Case((1,), "short", 1.0)], Measure.SHARES)
    with pytest.raises(ValueError, match="finite"):
        compare([Case((1,), wrong, 1.0), Case((1,), 2.0, 1.0)], Measure.PAIRS)


def test_all_outcomes_alike_differ_in_nothing():
    cases = [Case((n % 2,), "ab"[n // 2 % 2], 1.0) for n in range(40)]
    compared = of_shares(cases)
    assert compared.p == 1.0
    assert compared.contrasts[0].effect.value == 0.0
    # all of twenty against all of twenty is no proof that they are alike
    assert compared.contrasts[0].effect.low < -0.1


# --- what must move it ----------------------------------------------------------------------------


# of two hundred studios in which nothing makes a difference, one in twenty, and twice the scatter of that;
# `make accuracy` looks at a thousand of each kind
FALSE_OF_200 = 16


def test_a_good_student_who_rests_long_makes_no_effect():
    """Rest does nothing, but good students rest longer and play better."""
    yes = sum(of_shares(null_studio(seed), 399).p <= 0.05 for seed in range(200))
    assert yes <= FALSE_OF_200


def test_nor_do_days_and_ratings():
    yes = sum(compare(graded_null_studio(seed), Measure.PAIRS, 399).p <= 0.05 for seed in range(200))
    assert yes <= FALSE_OF_200


def test_the_same_studios_compared_across_students_would_mislead():
    """What the strata are for: without them nearly every one of these studios 'shows' that rest helps."""
    yes = 0
    for seed in range(50):
        flat = [case._replace(stratum=(0,)) for case in null_studio(seed)]
        yes += of_shares(flat, 399).p <= 0.05
    assert yes > 30


def test_what_helps_is_seen():
    yes = sum(of_shares(helped_studio(seed), 399).p <= 0.05 for seed in range(80))
    assert yes > 60


def test_the_p_of_eight_drawn_by_lot_is_that_of_all_their_orders():
    """Four against four, all of the one and none of the other: 2 of 70 orders are as extreme."""
    cases = [Case((1,), "a", 1.0)] * 4 + [Case((1,), "b", 0.0)] * 4
    assert of_shares(cases, 4999).p == pytest.approx(2 / 70, abs=0.008)


def test_several_groups_are_each_told_against_all_others_with_wider_intervals():
    cases = [Case((n % 3,), "abc"[n % 5 % 3], float(n % 2)) for n in range(90)]
    several = of_shares(cases)
    assert [(one.level, one.against) for one in several.contrasts] == [("a", ""), ("b", ""), ("c", "")]
    assert several.association.df == 2
    data = laid(cases)
    alone = difference_of_shares(data.outcome, data.indicator(0), data.stratum)
    assert several.contrasts[0].effect.low < alone.low < alone.high < several.contrasts[0].effect.high


def test_groups_are_told_in_the_order_asked_for():
    cases = [Case((1,), "ab"[n % 2], float(n % 2)) for n in range(12)]
    assert compare(cases, Measure.SHARES, FEW, first=["b"]).levels == ("b", "a")
    (contrast,) = compare(cases, Measure.SHARES, FEW, first=["b"]).contrasts
    assert (contrast.level, contrast.against, contrast.effect.value) == ("b", "a", 1.0)


def test_what_is_surely_small_is_said_to_be_alike_and_what_is_not_stays_open():
    many = [Case((n % 4,), "ab"[n // 4 % 2], float(n // 8 % 2)) for n in range(400)]
    few = many[:24]
    assert of_shares(many).verdict(1.0, 0.25) is Verdict.ALIKE
    assert of_shares(few).verdict(1.0, 0.25) is Verdict.OPEN


def test_cells_hold_every_outcome_once():
    cases = [Case((1, 0), "a", 1.0), Case((1, 0), "a", 0.0), Case((2, 0), "b", 1.0)]
    assert [(cell.stratum, cell.level, cell.outcomes) for cell in cells(cases)] == [
        ((1, 0), "a", (0.0, 1.0)),
        ((2, 0), "b", (1.0,)),
    ]


def test_a_shift_is_the_median_of_the_differences():
    outcome = np.array([1.0, 2.0, 9.0, 4.0, 5.0])
    one = np.array([0.0, 0.0, 0.0, 1.0, 1.0])
    effect = shift(outcome, one, np.zeros(5, dtype=np.int64))
    assert effect.value == pytest.approx(np.median([3, 2, -5, 4, 3, -4]))
    assert effect.low <= effect.value <= effect.high


def test_pairs_that_all_say_the_same_leave_doubt():
    effect = concordance(np.arange(6.0), np.arange(6.0), np.zeros(6, dtype=np.int64))
    assert effect.value == effect.high == 1.0
    assert 0.3 < effect.low < 0.6
    down = concordance(np.arange(6.0), -np.arange(6.0), np.zeros(6, dtype=np.int64))
    assert (down.value, down.high) == (0.0, pytest.approx(1 - effect.low))
