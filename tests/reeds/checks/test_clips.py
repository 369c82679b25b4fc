"""How much has been clipped in all."""

from reeds.checks import clips
from reeds.checks.findings import Outcome
from reeds.numbers.vocabulary import Stage
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from tests.reeds.checks.make import clip, reed


def outcome(stage, *made):
    return [found.outcome for found in clips.check(reed(stage=stage, clips=made), SHORT_SCRAPE)]


def test_clips_of_a_finishing_reed_are_summed_against_the_sheet():
    assert outcome(Stage.FINISHING, clip(0.8, 1), clip(0.2, 2)) == [Outcome.UNDECIDABLE]
    assert outcome(Stage.FINISHING, clip(0.8, 1, 0.05), clip(0.2, 2, 0.05)) == [Outcome.WITHIN]
    assert outcome(Stage.FINISHING, clip(0.2, 1, 0.05)) == [Outcome.BELOW]


def test_while_it_is_scraped_only_too_much_is_told():
    assert outcome(Stage.SCRAPED, clip(0.2, 1, 0.05)) == []
    assert outcome(Stage.SCRAPED, clip(2.0, 1, 0.05)) == [Outcome.ABOVE]


def test_without_clips_or_without_a_row_there_is_nothing_to_say():
    assert outcome(Stage.FINISHING) == []
    assert clips.check(reed(clips=(clip(9.0, 1),)), LONG_SCRAPE) == []
