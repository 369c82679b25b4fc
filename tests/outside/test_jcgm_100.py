"""JCGM 100:2008, Guide to the expression of uncertainty in measurement (GUM): its own worked numbers.

H.1: the inputs were read in the documentation of a public metrology library (MSLNZ/GTC, 'GUM H1'), the
printed results, 50.000 838 mm and 32 nm, in the tests of three others. 4.4.3, 4.4.5 and F.2.2.1 are
quoted from memory and recomputed.
"""

import math

import pytest

from reeds.numbers.measured import Measured, of_repeated, u_of_division, u_of_limits

NM = 1e-6  # mm


def end_gauge():
    """H.1, nanometres: l = ls + d - ls (da theta + as dtheta), at first order."""
    standard = Measured(50_000_623.0, 25.0)
    comparator = Measured(215.0, 5.8) + Measured(0.0, 3.9) + Measured(0.0, 6.7)
    expansion, off_20_degrees = 11.5e-6, -0.1
    of_da = Measured(0.0, u_of_limits(1e-6)) * (standard.value * off_20_degrees)
    of_dtheta = Measured(0.0, u_of_limits(0.05)) * (standard.value * expansion)
    return standard, comparator, of_da, of_dtheta


def test_the_end_gauge_of_h_1_comes_out_as_printed():
    standard, comparator, of_da, of_dtheta = end_gauge()
    length = standard + comparator - of_da - of_dtheta
    assert round(length.value * NM, 6) == 50.000838
    assert round(length.u) == 32
    assert length.u == pytest.approx(31.664, abs=5e-4)


def test_the_parts_of_h_1_are_the_published_ones():
    _standard, comparator, of_da, of_dtheta = end_gauge()
    assert round(comparator.u, 1) == 9.7
    assert of_da.u == pytest.approx(2.88679, abs=5e-6)
    assert of_dtheta.u == pytest.approx(16.599, abs=5e-4)


def test_twenty_readings_of_4_4_3_have_the_printed_mean_and_doubt():
    readings = [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
        100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
    ]  # fmt: skip
    mean = of_repeated(readings)
    assert mean.value == pytest.approx(100.14, abs=0.006)  # printed 100.14, computed 100.145
    assert round(mean.u, 2) == 0.33
    assert round(mean.u * math.sqrt(20), 2) == 1.49


def test_a_rectangular_distribution_from_96_to_104_has_2_3_as_in_4_4_5():
    assert round(u_of_limits(4.0), 1) == 2.3


@pytest.mark.parametrize(
    ("division", "u"),
    [(1, 0.28868), (0.5, 0.14434), (0.1, 0.028868), (0.05, 0.014434), (0.02, 0.0057735), (0.01, 0.0028868)],
)
def test_a_scale_division_gives_0_29_of_itself_as_in_f_2_2_1(division, u):
    assert u_of_division(division) == pytest.approx(u, rel=2e-5)
    assert round(u_of_division(1.0), 2) == 0.29


def test_a_ruler_read_to_half_a_millimetre_at_both_ends_has_the_0_2_we_use():
    """Own arithmetic on F.2.2.1: sqrt(2) * 0.5 / sqrt(12) = 0.204."""
    both_ends = Measured(0.0, u_of_division(0.5)) - Measured(0.0, u_of_division(0.5))
    assert both_ends.u == pytest.approx(0.204, abs=5e-4)
    assert round(both_ends.u, 1) == 0.2


@pytest.mark.parametrize(
    "use", [lambda: u_of_limits(-1), lambda: u_of_division(-1), lambda: of_repeated([1.0])]
)
def test_what_has_no_uncertainty_is_refused(use):
    with pytest.raises(ValueError, match=r"negative|at least two"):
        use()


@pytest.mark.parametrize(("value", "u"), [(math.nan, 0.1), (math.inf, 0.1), (1.0, -0.1), (1.0, math.nan)])
def test_a_measured_number_is_finite_and_its_doubt_not_negative(value, u):
    with pytest.raises(ValueError, match="finite"):
        Measured(value, u)
