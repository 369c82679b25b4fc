"""Probabilities of lying within limits: what must hold for any numbers."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reeds.checks.conformity import K95, can_decide, chances, judge
from reeds.checks.findings import Outcome
from reeds.numbers.measured import Measured

VALUES = st.floats(-100, 100)
DOUBTS = st.floats(0.001, 20)
WIDTHS = st.floats(0.001, 50)
OUTSIDE = (Outcome.BELOW, Outcome.ABOVE)


@given(VALUES, st.just(0.0) | DOUBTS, VALUES, WIDTHS)
def test_the_three_probabilities_sum_to_one(value, u, low, width):
    found = chances(Measured(value, u), low, low + width)
    assert math.isclose(found.below + found.within + found.above, 1.0, abs_tol=1e-12)
    assert min(found.below, found.within, found.above) >= 0


@given(VALUES, DOUBTS, VALUES, WIDTHS, st.floats(0, 10))
def test_a_larger_value_is_never_less_probably_above(value, u, low, width, more):
    lower, higher = (chances(Measured(v, u), low, low + width) for v in (value, value + more))
    assert higher.above >= lower.above
    assert higher.below <= lower.below


@given(VALUES, DOUBTS, WIDTHS)
def test_mirrored_in_the_middle_below_and_above_change_places(shift, u, width):
    left = chances(Measured(-shift, u), -width / 2, width / 2)
    right = chances(Measured(shift, u), -width / 2, width / 2)
    assert math.isclose(left.below, right.above, abs_tol=1e-12)
    assert math.isclose(left.within, right.within, abs_tol=1e-12)


@given(VALUES, DOUBTS, VALUES, WIDTHS, st.floats(0, 10), st.floats(0, 10))
def test_wider_limits_never_make_within_less_probable(value, u, low, width, more_low, more_high):
    narrow = chances(Measured(value, u), low, low + width)
    wide = chances(Measured(value, u), low - more_low, low + width + more_high)
    assert wide.within >= narrow.within - 1e-12


@given(DOUBTS, VALUES, WIDTHS, st.floats(0, 1))
def test_a_value_at_an_aim_inside_the_limits_is_never_called_outside(u, low, width, share):
    aim = low + share * width
    assume(low <= aim <= low + width)
    assert judge(Measured(aim, u), low, low + width)[0] not in OUTSIDE
    assert judge(Measured(aim, u), low, None)[0] not in OUTSIDE
    assert judge(Measured(aim, u), None, low + width)[0] not in OUTSIDE


@given(VALUES, DOUBTS, VALUES, WIDTHS)
def test_no_value_is_within_where_the_tool_cannot_decide(value, u, low, width):
    outcome, _probability = judge(Measured(value, u), low, low + width)
    if can_decide(u, low, low + width):
        assert outcome is not Outcome.UNDECIDABLE
        middle = Measured(low + width / 2, u * 0.999)
        assert judge(middle, low, low + width)[0] is Outcome.WITHIN
    else:
        assert outcome in (*OUTSIDE, Outcome.UNDECIDABLE)


@given(VALUES, DOUBTS, VALUES, WIDTHS)
def test_what_is_far_off_is_flagged_even_by_a_coarse_tool(value, u, low, width):
    assert judge(Measured(low - 1.7 * u, u), low, low + width)[0] is Outcome.BELOW
    assert judge(Measured(low + width + 1.7 * u, u), low, low + width)[0] is Outcome.ABOVE


def test_an_exact_number_on_a_limit_is_within():
    for value in (70.0, 72.0):
        assert judge(Measured(value), 70.0, 72.0) == (Outcome.WITHIN, 1.0)
    assert judge(Measured(69.999), 70.0, 72.0) == (Outcome.BELOW, 1.0)
    assert judge(Measured(72.001), 70.0, 72.0) == (Outcome.ABOVE, 1.0)


def test_the_narrowest_range_that_can_be_decided_is_3_92_u():
    assert pytest.approx(3.92, abs=0.001) == 2 * K95
    assert can_decide(0.2, 71.0, 71.0 + 3.93 * 0.2)
    assert not can_decide(0.2, 71.0, 71.0 + 3.91 * 0.2)


def test_a_range_open_on_one_side_can_always_be_decided():
    assert can_decide(100.0, 0.5, None)
    assert judge(Measured(10.0, 1.0), 0.5, None)[0] is Outcome.WITHIN


def test_no_limits_at_all_hold_everything():
    assert chances(Measured(3.0, 1.0), None, None).within == 1.0


def test_limits_the_wrong_way_round_are_refused():
    with pytest.raises(ValueError, match="over the high limit"):
        chances(Measured(1.0, 0.1), 2.0, 1.0)


def test_a_ruler_can_never_convict_an_opening_of_0_6_mm():
    outcome, _probability = judge(Measured(0.6, 0.2), 0.5, 1.2)
    assert outcome is Outcome.UNDECIDABLE
