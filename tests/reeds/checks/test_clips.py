"""How much has been clipped in all."""

from reeds.checks import clips
from reeds.checks.findings import Outcome
from reeds.numbers.words import Stage
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from tests.reeds.checks.make import clip, number, reed, words


def outcome(stage, *made):
    return [found.outcome for found in clips.check(reed(stage=stage, clips=made), SHORT_SCRAPE)]


def test_clips_of_a_finishing_reed_are_summed_against_the_sheet():
    assert outcome(Stage.FINISHING, clip(0.8, 1), clip(0.2, 2)) == [Outcome.UNDECIDABLE]
    assert outcome(Stage.FINISHING, clip(0.8, 1, 0.05), clip(0.2, 2, 0.05)) == [Outcome.WITHIN]
    assert outcome(Stage.FINISHING, clip(0.2, 1, 0.05)) == [Outcome.BELOW]


def test_while_it_is_scraped_only_too_much_is_told():
    assert outcome(Stage.SCRAPED, clip(0.2, 1, 0.05)) == []
    assert outcome(Stage.SCRAPED, clip(2.0, 1, 0.05)) == [Outcome.ABOVE]


def test_a_finished_reed_that_was_never_clipped_is_told_as_a_remark():
    assert outcome(Stage.SCRAPED) == []
    (found,) = clips.check(reed(stage=Stage.FINISHING), SHORT_SCRAPE)
    assert (found.outcome, found.need) == (Outcome.NOTED, 0)
    assert words(found) == "No clip is on record; on this sheet 1 mm in all is usual."


def test_where_the_lengths_tell_of_a_clip_their_sum_speaks():
    lengths = [number("tie_length", 72.0), number("overall_length", 71.0)]
    assert clips.check(reed(*lengths, stage=Stage.FINISHING), SHORT_SCRAPE) == []


def test_without_a_row_there_is_nothing_to_say():
    assert clips.check(reed(stage=Stage.FINISHING), LONG_SCRAPE) == []
    assert clips.check(reed(clips=(clip(9.0, 1),)), LONG_SCRAPE) == []


def test_nobody_is_asked_to_measure_a_clip_again():
    (found,) = clips.check(reed(stage=Stage.FINISHING, clips=(clip(0.55, 1, 0.1),)), SHORT_SCRAPE)
    assert (found.outcome, found.next_step) == (Outcome.TOO_CLOSE, "")
