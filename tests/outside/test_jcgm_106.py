"""JCGM 106:2012, The role of measurement uncertainty in conformity assessment, clause 7: its worked examples.

The document itself was not at hand: inputs and printed results are quoted from memory and were
recomputed; for the resistors the inputs were read in a third party's script.
"""

import math

import pytest

from reeds.checks.conformity import chances, judge
from reeds.checks.findings import Outcome
from reeds.numbers.measured import Measured


@pytest.mark.parametrize(
    ("what", "y", "u", "low", "high", "printed", "recomputed"),
    [
        ("breakdown voltage of a diode, one upper limit", -5.47, 0.05, None, -5.40, 0.92, 0.91924),
        ("burst strength of a container, one lower limit", 509.7, 8.6, 490.0, None, 0.99, 0.98901),
        ("viscosity of an oil, two limits", 13.6, 1.8, 12.5, 16.3, 0.66, 0.66263),
    ],
)
def test_the_probability_of_conformity_is_the_printed_one(what, y, u, low, high, printed, recomputed):
    within = chances(Measured(y, u), low, high).within
    assert round(within, 2) == printed, what
    assert within == pytest.approx(recomputed, abs=5e-5)  # the rounded z of the text: 1.5 and -0.6


def test_the_process_of_the_resistors_conforms_with_0_90():
    within = chances(Measured(1500.0, 0.12), 1499.80, 1500.20).within
    assert within == pytest.approx(0.90442, abs=5e-6)


@pytest.mark.parametrize(
    ("probability", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
)
def test_the_table_of_z_for_one_limit(probability, z):
    assert chances(Measured(z, 1.0), 0.0, None).within == pytest.approx(probability, abs=0.002)


def test_the_diode_is_too_close_to_call_at_95_percent_and_the_container_is_not():
    assert judge(Measured(-5.47, 0.05), None, -5.40)[0] is Outcome.TOO_CLOSE
    assert judge(Measured(509.7, 8.6), 490.0, None)[0] is Outcome.WITHIN


def test_the_oil_cannot_be_decided_by_so_coarse_a_measurement():
    """Own arithmetic: the range of 3.8 is narrower than 3.92 u = 7.06."""
    assert judge(Measured(13.6, 1.8), 12.5, 16.3)[0] is Outcome.UNDECIDABLE


@pytest.mark.parametrize(
    ("guard_in_u", "risk"), [(6.0, 1e-9), (3.0, 0.00135), (2.0, 0.02275), (1.645, 0.05), (0.0, 0.5)]
)
def test_a_guard_band_leaves_the_risk_of_the_normal_distribution(guard_in_u, risk):
    """Own arithmetic: 1 - Phi(guard / u)."""
    above = chances(Measured(10.0 - guard_in_u, 1.0), None, 10.0).above
    assert above == pytest.approx(risk, rel=0.02)
    assert math.isfinite(above)
