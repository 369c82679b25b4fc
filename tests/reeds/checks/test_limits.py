"""Numbers against the sheet, as a student and a teacher read it."""

import pytest

from reeds.checks import limits
from reeds.checks.findings import Outcome
from reeds.numbers.words import Flexibility, Method, Stage
from reeds.sheet.starters import SHORT_SCRAPE
from tests.reeds.checks.make import at, clip, number, reed, row, sheet, step, words


def outcomes(facts, on=SHORT_SCRAPE):
    return {found.quantity: found.outcome for found in limits.check(facts, on) if found.outcome != "noted"}


def test_a_student_reads_where_each_number_stands():
    facts = reed(
        number("tie_length", 72.0), number("cane_beyond_staple", 25.0), number("tip_width", 8.0, 0.05)
    )
    assert outcomes(facts) == {
        "tip_width": Outcome.ABOVE,
        "cane_beyond_staple": Outcome.BELOW,
        "tie_length": Outcome.WITHIN,
    }


def test_a_finding_carries_the_numbers_and_the_sentence():
    (found,) = limits.check(reed(number("tie_length", 74.0)), SHORT_SCRAPE)
    assert (found.value, found.u, found.low, found.aim, found.high) == (74.0, 0.2, 71.0, 72.0, 73.0)
    assert found.probability > 0.99
    assert words(found) == "Tie length: 74 mm is above the high limit of 73."


def test_a_number_near_a_limit_is_too_close_to_call_and_asks_for_a_finer_tool():
    (found,) = limits.check(reed(number("tie_length", 73.1)), SHORT_SCRAPE)
    assert found.outcome is Outcome.TOO_CLOSE
    assert words(found) == "Tie length: 73.1 mm is too close to a limit to call."
    assert found.probability == pytest.approx(0.309, abs=0.001)
    assert step(found) == "Measure it again with a caliper."


def test_a_ruler_cannot_decide_a_staple_and_the_caliper_is_named():
    (found,) = limits.check(reed(number("staple_length", 45.1)), SHORT_SCRAPE)
    assert found.outcome is Outcome.UNDECIDABLE
    assert "ruler" in words(found)
    assert "nothing says that it is wrong" in words(found)
    assert step(found) == "Measure it again with a caliper."
    assert not found.needs_attention


def test_a_ruler_flags_a_staple_that_is_far_off():
    assert outcomes(reed(number("staple_length", 47.0)))["staple_length"] is Outcome.ABOVE


def test_where_only_a_photo_decides_the_photo_is_named():
    facts = reed(number("opening_height", 0.6, 0.2), stage=Stage.PLAYING)
    on = sheet(row("opening_height", 0.7, 0.75, 0.8))
    (found,) = limits.check(facts, on)
    assert step(found) == "Measure it again on a photo."


def test_a_photo_that_cannot_decide_names_no_photo():
    facts = reed(number("opening_area", 3.0, 1.0, method=Method.PHOTO), stage=Stage.PLAYING)
    (found,) = limits.check(facts, SHORT_SCRAPE)
    assert found.outcome is Outcome.UNDECIDABLE
    assert found.next_step == ""


def test_the_row_moves_with_the_staple():
    on_45, on_47 = (reed(number("tie_length", 74.0, 0.05), staple_length=mm) for mm in (45.0, 47.0))
    assert outcomes(on_45)["tie_length"] is Outcome.ABOVE
    assert outcomes(on_47)["tie_length"] is Outcome.WITHIN


def test_hard_cane_is_scraped_longer():
    scraped = [number("scrape_length", 12.0, 0.05)]
    medium = reed(*scraped, stage=Stage.SCRAPED, flexibility=Flexibility.MEDIUM)
    hard = reed(*scraped, stage=Stage.SCRAPED, flexibility=Flexibility.HARD)
    assert outcomes(medium)["scrape_length"] is Outcome.ABOVE
    assert outcomes(hard)["scrape_length"] is Outcome.WITHIN


def test_a_staple_that_is_not_on_the_sheet_is_told_and_not_judged():
    (found,) = limits.check(reed(number("tie_length", 72.0), staple_length=44.0), SHORT_SCRAPE)
    assert found.outcome is Outcome.NOTED
    assert words(found) == "Tie length: the sheet has no limits for a reed on this staple."


def test_a_scrape_measured_after_clipping_has_the_clips_added_back():
    facts = reed(
        number("scrape_length", 10.0, 0.05, when=at(5)),
        stage=Stage.FINISHING,
        clips=(clip(1.0, 4, u=0.05), clip(0.2, 6)),
    )
    found, told = limits.check(facts, SHORT_SCRAPE)
    assert (found.outcome, found.value) == (Outcome.WITHIN, 11.0)
    assert found.u > 0.05, "the clip's own doubt comes with it"
    assert "the 1 mm clipped are added back" in words(told)


def test_a_scrape_measured_before_clipping_is_taken_as_it_is():
    facts = reed(number("scrape_length", 11.0, 0.05, when=at(1)), stage=Stage.SCRAPED, clips=(clip(1.0, 4),))
    (found,) = limits.check(facts, SHORT_SCRAPE)
    assert found.value == 11.0


def test_an_overall_length_measured_before_a_clip_has_it_taken_off():
    facts = reed(number("overall_length", 72.0, when=at(1)), stage=Stage.FINISHING, clips=(clip(1.0, 2),))
    found, told = limits.check(facts, SHORT_SCRAPE)
    assert found.value == 71.0
    assert "taken off" in words(told)


def test_a_number_taken_before_its_stage_is_not_judged():
    facts = reed(number("opening_height", 2.0, 0.05, stage=Stage.TIED))
    (found,) = limits.check(facts, SHORT_SCRAPE)
    assert found.outcome is Outcome.NOTED
    assert words(found).endswith("from this stage on: playing.")


def test_a_row_open_upwards_knows_no_above():
    on = sheet(row("slip", 0.2))
    (found,) = limits.check(reed(number("slip", 1.9, 0.05)), on)
    assert found.outcome is Outcome.WITHIN


def test_a_players_own_offset_moves_the_limits():
    moved = SHORT_SCRAPE.with_offsets({"tie_length": 1.0})
    assert outcomes(reed(number("tie_length", 73.5)), moved)["tie_length"] is Outcome.WITHIN
    assert outcomes(reed(number("tie_length", 71.0)), moved)["tie_length"] is Outcome.BELOW


def test_a_number_that_is_not_on_the_sheet_is_left_alone():
    assert limits.check(reed(number("slip", 1.0)), SHORT_SCRAPE) == []


def test_a_fault_without_a_usual_step_is_measured_once_more():
    (found,) = limits.check(reed(number("tie_length", 74.0), may_act=True), SHORT_SCRAPE)
    assert step(found).startswith("Measure it once more.")
    assert not found.irreversible


def test_a_number_is_judged_by_the_row_of_the_stage_at_which_it_was_measured():
    rows = sheet(
        row("opening_height", 0.2, 0.4, 0.6), row("opening_height", 0.7, 0.9, 1.2, stage=Stage.SCRAPED)
    )
    scraped = number("opening_height", 0.9, 0.02, stage=Stage.SCRAPED)
    assert [one.outcome for one in limits.check(reed(scraped, stage=Stage.PLAYING), rows)] == [Outcome.WITHIN]
    undated = number("opening_height", 0.4, 0.02)
    assert [one.outcome for one in limits.check(reed(undated, stage=Stage.PLAYING), rows)] == [Outcome.BELOW]
