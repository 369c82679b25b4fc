"""One way of writing a number with its doubt."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reeds.numbers.measured import Measured, decimals_of, rounded


@pytest.mark.parametrize(
    ("u", "decimals"),
    [
        (0.2, 1),
        (0.05, 2),
        (0.01, 2),
        (0.0104, 2),
        (0.0131, 3),
        (0.131, 2),
        (0.196, 1),
        (0.0996, 1),
        (0.97, 0),
        (1.4, 1),
        (3.0, 0),
        (14.0, 0),
        (240.0, 0),
    ],
)
def test_one_digit_of_a_doubt_is_kept_and_two_where_the_first_is_1(u, decimals):
    assert decimals_of(u, 3) == decimals


def test_an_exact_number_has_its_usual_decimals():
    assert decimals_of(0.0, 2) == 2
    assert rounded(Measured(45.0), 1) == (Measured(45.0), 1)


@pytest.mark.parametrize(
    ("value", "u", "finest", "shown", "doubt"),
    [
        (42.31, 0.4, 0, 42.0, 1.0),
        (11.74, 0.03, 1, 11.7, 0.1),
        (-3.26, 0.14, 1, -3.3, 0.1),
        (8.315, 1.4, 1, 8.3, 1.4),
    ],
)
def test_where_more_decimals_would_say_nothing_a_doubt_is_rounded_up_rather_than_away(
    value, u, finest, shown, doubt
):
    written, decimals = rounded(Measured(value, u), 0, finest)
    assert (written.value, written.u) == (shown, doubt)
    assert decimals <= finest


def test_a_rounded_nought_has_no_sign():
    written, _decimals = rounded(Measured(-0.04, 0.3), 1)
    assert math.copysign(1.0, written.value) == 1.0


@given(st.floats(-1000, 1000), st.floats(1e-6, 10))
def test_rounding_changes_a_doubt_by_a_quarter_at_most_and_the_number_by_half_of_it(value, u):
    """2.5 may be written 2 and 1.049 is written 1."""
    written, decimals = rounded(Measured(value, u), 0)
    assert 1 <= written.u * 10**decimals <= 100 or u > 1
    assert abs(written.u - u) <= 0.26 * u
    assert abs(written.value - value) <= 0.51 * max(written.u, 1.0 if decimals == 0 else 0.0)
