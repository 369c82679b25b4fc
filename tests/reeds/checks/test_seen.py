"""Airtight when closed, and the crow."""

from reeds.checks import seen
from reeds.checks.findings import Outcome
from reeds.numbers.words import Stage, Style
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from tests.reeds.checks.make import look, reed, step, words


def test_a_blank_that_leaks_is_not_scraped_on():
    (found,) = seen.check(reed(look("airtight", "no")), SHORT_SCRAPE)
    assert found.outcome is Outcome.DIFFERS
    assert words(found) == "Airtight when closed: no; the sheet has: yes."
    assert step(found).startswith("Do not scrape on")
    assert not found.irreversible


def test_a_tight_blank_is_as_the_sheet_has_it():
    (found,) = seen.check(reed(look("airtight", "yes")), SHORT_SCRAPE)
    assert (found.outcome, found.next_step) == (Outcome.WITHIN, "")


def crowing(choice, **rest):
    return reed(look("crow", choice), style=Style.LONG, stage=Stage.PLAYING, staple_length=47.0, **rest)


def test_a_long_scrape_that_crows_flat_is_clipped_by_those_who_may():
    (found,) = seen.check(crowing("flat", may_act=True), LONG_SCRAPE)
    assert "0.2 mm at most" in step(found)
    assert found.irreversible
    (waiting,) = seen.check(crowing("flat"), LONG_SCRAPE)
    assert waiting.waits


def test_the_crow_is_not_asked_of_a_short_scrape():
    assert seen.check(reed(look("crow", "flat"), stage=Stage.PLAYING), SHORT_SCRAPE) == []


def test_a_choice_that_no_longer_exists_is_left_alone():
    assert seen.check(reed(look("airtight", "perhaps")), SHORT_SCRAPE) == []
