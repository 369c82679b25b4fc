"""What is asked at a stage and not noted yet."""

from reeds.checks import missing
from reeds.checks.findings import Outcome
from reeds.numbers.registry import REGISTRY
from reeds.numbers.words import Stage
from reeds.sheet.starters import SHORT_SCRAPE
from tests.reeds.checks.make import at, clip, look, number, reed, words


def keys(facts):
    return [found.quantity for found in missing.check(facts, SHORT_SCRAPE)]


def test_a_new_blank_misses_everything_asked_at_its_stage():
    assert keys(reed()) == [quantity.key for quantity in REGISTRY.asked_at(Stage.TIED, SHORT_SCRAPE.keys)]


def test_what_is_noted_is_not_missing():
    assert keys(reed(number("tie_length", 72.0), look("airtight", "yes"))) == [
        "staple_length",
        "cane_beyond_staple",
    ]


def test_what_must_be_seen_again_is_missing_at_the_later_stage():
    old = look("closing", "together", stage=Stage.SCRAPED)
    (found,) = [
        f for f in missing.check(reed(old, stage=Stage.PLAYING), SHORT_SCRAPE) if f.quantity == "closing"
    ]
    assert found.outcome is Outcome.MISSING
    assert words(found).endswith("noted at an earlier stage; look again.")
    new = look("closing", "together", stage=Stage.PLAYING)
    assert "closing" not in keys(reed(new, stage=Stage.PLAYING))


def test_a_reed_that_is_played_out_misses_nothing():
    assert keys(reed(stage=Stage.PLAYED_OUT)) == []


def test_a_length_is_asked_again_only_after_a_clip():
    """What was seen changes, a length does not of itself."""
    old = number("overall_length", 71.0, when=at(1), stage=Stage.FINISHING)
    assert "overall_length" not in keys(reed(old, stage=Stage.PLAYING))
    assert "overall_length" in keys(reed(old, stage=Stage.PLAYING, clips=(clip(0.2, 5),)))
