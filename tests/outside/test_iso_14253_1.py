"""ISO 14253-1:2017, decision rules: conformity is proven at 95 %; own arithmetic on an overall length.

The standard itself was not at hand; the rule was read in two third-party copies. With u known, 95 %
against one limit is a guard band of 1.645 u (the copies print 1.65).
"""

import pytest

from reeds.checks.conformity import judge
from reeds.checks.findings import Outcome
from reeds.numbers.measured import Measured

LOW, HIGH, U = 69.0, 71.0, 0.20


@pytest.mark.parametrize(
    ("y", "outcome"),
    [
        (70.00, Outcome.WITHIN),
        (70.65, Outcome.WITHIN),
        (70.67, Outcome.WITHIN),
        (70.68, Outcome.TOO_CLOSE),
        (69.33, Outcome.WITHIN),
        (69.32, Outcome.TOO_CLOSE),
        (71.00, Outcome.TOO_CLOSE),
        (71.32, Outcome.TOO_CLOSE),
        (71.34, Outcome.ABOVE),
        (68.68, Outcome.TOO_CLOSE),
        (68.66, Outcome.BELOW),
    ],
)
def test_an_overall_length_of_69_to_71_read_by_ruler(y, outcome):
    assert judge(Measured(y, U), LOW, HIGH)[0] is outcome


def test_the_worked_70_65_conforms_with_0_960():
    outcome, probability = judge(Measured(70.65, U), LOW, HIGH)
    assert (outcome, round(probability, 3)) == (Outcome.WITHIN, 0.96)
