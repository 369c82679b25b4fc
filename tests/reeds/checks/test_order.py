"""Numbers that geometry puts in order."""

import pytest

from reeds.checks import order
from reeds.checks.findings import Outcome
from reeds.sheet.starters import SHORT_SCRAPE
from tests.reeds.checks.make import number, reed, words


@pytest.mark.parametrize(
    ("more", "less", "says"),
    [
        (("tie_length", 60.0), ("overall_length", 70.0), "must be more than overall length"),
        (("overall_length", 50.0), ("staple_length", 51.5), "must be more than staple length"),
        (("gouged_length", 60.0), ("cane_beyond_staple", 36.0), "Half of length of the gouged cane is 30 mm"),
        (("overall_length", 50.0), ("scrape_length", 55.0), "must be more than scrape length"),
    ],
)
def test_a_length_that_must_be_longer_and_is_not(more, less, says):
    (found,) = order.check(reed(number(*more), number(*less)), SHORT_SCRAPE)
    assert found.outcome is Outcome.CONTRADICTION
    assert says in words(found)


def test_thin_places_that_are_thicker_than_thick_ones():
    facts = reed(number("thickness_tip_centre", 0.10, 0.01), number("thickness_tip_corners", 0.16, 0.01))
    assert len(order.check(facts, SHORT_SCRAPE)) == 1


def test_a_difference_within_doubt_is_left_alone():
    assert order.check(reed(number("tie_length", 71.0), number("overall_length", 71.5)), SHORT_SCRAPE) == []
    assert order.check(reed(number("tie_length", 71.0), number("overall_length", 71.8)), SHORT_SCRAPE) != []


def test_a_usual_reed_stands_in_order():
    usual = {
        "gouged_length": 75,
        "tie_length": 72,
        "overall_length": 71,
        "staple_length": 45,
        "scrape_length": 11,
    }
    assert order.check(reed(*(number(key, mm) for key, mm in usual.items())), SHORT_SCRAPE) == []


def test_a_number_computed_from_the_other_is_left_alone():
    facts = reed(number("tie_length", 60.0), number("overall_length", 70.0, computed_from=("tie_length",)))
    assert order.check(facts, SHORT_SCRAPE) == []
