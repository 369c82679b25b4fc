"""Rest before scraping: a remark, never a fault."""

from datetime import timedelta

import pytest

from reeds.checks import rest
from reeds.checks.findings import Outcome
from reeds.numbers.words import Stage
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from tests.reeds.checks.make import reed, row, sheet, words


def rested(hours, stage=Stage.SCRAPED):
    return reed(stage=stage, rested=timedelta(hours=hours))


@pytest.mark.parametrize("on", [SHORT_SCRAPE, LONG_SCRAPE])
def test_scraped_on_the_same_day_is_a_remark(on):
    (found,) = rest.check(rested(3), on)
    assert found.outcome is Outcome.NOTED
    assert not found.is_fault
    assert not found.needs_attention
    assert "after 3 hours of rest" in words(found)


@pytest.mark.parametrize("hours", [12, 24, 24 * 400])
def test_a_night_or_a_year_is_no_remark(hours):
    assert rest.check(rested(hours), SHORT_SCRAPE) == []


def test_a_blank_can_go_on_resting():
    assert rest.check(rested(1, Stage.BOUND), SHORT_SCRAPE) == []


def test_a_studio_that_wants_two_weeks_is_told_of_one():
    assert len(rest.check(rested(24 * 7), sheet(row("rest", 14.0)))) == 1
    assert rest.check(rested(24 * 7), sheet(row("slip", 0.2))) == []


def test_a_reed_whose_rest_is_unknown_gets_no_remark():
    assert rest.check(reed(stage=Stage.SCRAPED), SHORT_SCRAPE) == []


def lay(tied_hours, bound_hours):
    return reed(
        stage=Stage.SCRAPED, rested=timedelta(hours=tied_hours), bound_for=timedelta(hours=bound_hours)
    )


def test_a_blank_tied_weeks_ago_and_bound_today_has_rested():
    assert rest.check(lay(24 * 21, 3), SHORT_SCRAPE) == []


@pytest.mark.parametrize(("tied", "bound", "says"), [(0, 0, "as soon as it was tied"), (500, 0, "in one go")])
def test_no_rest_at_all_is_told_as_a_remark(tied, bound, says):
    (found,) = rest.check(lay(tied, bound), SHORT_SCRAPE)
    assert (found.outcome, found.needs_attention) == (Outcome.NOTED, False)
    assert says in words(found)
