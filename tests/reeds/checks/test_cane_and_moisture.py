"""What the feel of the cane asks for, and what was measured dry."""

from reeds.checks import cane, moisture
from reeds.checks.findings import Outcome
from reeds.numbers.words import Flexibility, Stage, Style
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from tests.reeds.checks.make import DRY, WET, number, reed, step, words


def test_very_flexible_cane_is_scraped_shorter():
    (found,) = cane.check(reed(flexibility=Flexibility.FLEXIBLE), SHORT_SCRAPE)
    assert found.outcome is Outcome.NOTED
    assert "easily overdone" in step(found)


def test_the_remark_is_of_the_short_scrape_and_ends_when_the_reed_plays():
    flexible = {"flexibility": Flexibility.FLEXIBLE}
    assert cane.check(reed(style=Style.LONG, **flexible), LONG_SCRAPE) == []
    assert cane.check(reed(stage=Stage.PLAYING, **flexible), SHORT_SCRAPE) == []
    assert cane.check(reed(flexibility=Flexibility.HARD), SHORT_SCRAPE) == []


def test_a_gouge_measured_dry_is_told():
    (found,) = moisture.check(reed(number("gouge", 0.57, 0.01, moisture=DRY)), SHORT_SCRAPE)
    assert found.outcome is Outcome.NOTED
    assert words(found).startswith("Gouge was measured dry")


def test_a_wet_gouge_and_a_dry_staple_are_not():
    facts = reed(number("gouge", 0.57, 0.01, moisture=WET), number("staple_length", 45.0, moisture=DRY))
    assert moisture.check(facts, SHORT_SCRAPE) == []


def test_cane_that_nobody_felt_is_told_at_scraping_only():
    (found,) = cane.check(reed(stage=Stage.SCRAPED), SHORT_SCRAPE)
    assert (found.outcome, found.next_step) == (Outcome.NOTED, "")
    assert words(found).startswith("How the wet cane feels is not noted")
    assert cane.check(reed(stage=Stage.BOUND), SHORT_SCRAPE) == []
    assert cane.check(reed(stage=Stage.SCRAPED, flexibility=Flexibility.MEDIUM), SHORT_SCRAPE) == []
