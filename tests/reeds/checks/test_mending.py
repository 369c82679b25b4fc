"""What can still be mended, and what is past: a remark without need, asked of nobody."""

import pytest

from reeds.checks.comparing import CLIPS_ADDED
from reeds.checks.findings import Outcome, need_of
from reeds.checks.mending import MENDS, measured_until, told
from reeds.checks.registry import run_checks
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Flexibility, Method, Stage
from reeds.sheet.starters import SHORT_SCRAPE
from tests.reeds.checks.make import at, clip, number, reed, step


def found_of(key, value, stage, **rest):
    own, u = QUANTITIES[key].stage, QUANTITIES[key].default_u(Method.CALIPER) if key != "gouge" else 0.005
    facts = reed(number(key, value, u, when=at(1), stage=own), stage=stage, **rest)
    return [one for one in run_checks(facts, SHORT_SCRAPE) if one.quantity == key]


@pytest.mark.parametrize(
    ("key", "value", "stage", "says"),
    [
        ("gouge", 0.50, Stage.CANE, "take another piece"),
        ("end_thinned", 6.0, Stage.SHAPED, "can still be thinned further"),
        ("end_thinned", 12.0, Stage.SHAPED, "note it for the next reed"),
        ("tie_length", 75.0, Stage.TIED, "can still be tied again"),
        ("tie_length", 75.0, Stage.BOUND, "can still be tied again"),
        ("scrape_length", 9.0, Stage.SCRAPED, "the scrape can still be made longer"),
        ("scrape_length", 13.0, Stage.SCRAPED, "note it for the next reed"),
        ("tip_length", 1.0, Stage.FINISHING, "the tip can still be made longer"),
        ("tip_length", 1.0, Stage.PLAYING, "the tip can still be made longer"),
        ("tip_length", 4.0, Stage.FINISHING, "note it for the next reed"),
        ("overall_length", 74.0, Stage.FINISHING, "it can still be made shorter"),
        ("overall_length", 67.0, Stage.FINISHING, "note it for the next reed"),
        ("opening_height", 0.2, Stage.PLAYING, "open it by hand"),
        ("opening_height", 2.0, Stage.PLAYING, "Close it by hand"),
    ],
)
def test_only_what_cannot_be_mended_is_noted_for_the_next_reed(key, value, stage, says):
    (found,) = found_of(key, value, stage)
    assert says in step(found)
    assert found.is_fault
    assert not found.irreversible, "one figure alone takes nothing off"


def test_a_hard_cane_scraped_too_short_can_be_mended():
    (found,) = found_of("scrape_length", 10.5, Stage.SCRAPED, flexibility=Flexibility.HARD)
    assert "can still be made longer" in step(found)


@pytest.mark.parametrize(
    ("key", "value", "stage"),
    [
        ("gouge", 0.50, Stage.TIED),
        ("end_thinned", 6.0, Stage.TIED),
        ("tie_length", 75.0, Stage.SCRAPED),
        ("cane_beyond_staple", 30.0, Stage.PLAYING),
        ("scrape_length", 13.0, Stage.PLAYING),
        ("tip_length", 4.0, Stage.PLAYING),
        ("opening_height", 2.0, Stage.PLAYED_OUT),
    ],
)
def test_a_fault_of_the_past_is_a_remark_without_need(key, value, stage):
    (found,) = found_of(key, value, stage)
    assert (found.outcome, found.next_step, found.need) == (Outcome.NOTED, "", 0)
    assert "limit" in found.message, "its numbers are still told"


@pytest.mark.parametrize(("key", "value"), [("gouge", 0.549), ("tie_length", 73.02), ("end_thinned", 8.02)])
def test_nobody_is_asked_to_measure_again_what_is_past(key, value):
    assert [one.outcome for one in found_of(key, value, QUANTITIES[key].stage)] == [Outcome.TOO_CLOSE]
    assert found_of(key, value, Stage.PLAYING) == []


def test_a_sum_of_the_past_is_a_remark():
    blank = [number("tie_length", 75.0), number("cane_beyond_staple", 27.0)]
    at_the_time = run_checks(reed(*blank, stage=Stage.BOUND), SHORT_SCRAPE)
    assert Outcome.CONTRADICTION in {one.outcome for one in at_the_time}
    later = run_checks(reed(*blank, stage=Stage.PLAYING), SHORT_SCRAPE)
    assert need_of(one for one in later if one.outcome is not Outcome.MISSING) == 0


def test_a_scrape_measured_by_ruler_after_a_clip_is_not_told_as_undecidable():
    facts = reed(
        number("scrape_length", 10.0, when=at(5), stage=Stage.SCRAPED),
        stage=Stage.SCRAPED,
        clips=(clip(1.0, 4),),
    )
    found = [
        one for one in told(run_checks(facts, SHORT_SCRAPE), facts.stage) if one.quantity == "scrape_length"
    ]
    assert found == []
    far = reed(
        number("scrape_length", 6.0, when=at(5), stage=Stage.SCRAPED),
        stage=Stage.SCRAPED,
        clips=(clip(1.0, 4),),
    )
    outcomes = {one.outcome: one for one in run_checks(far, SHORT_SCRAPE) if one.quantity == "scrape_length"}
    assert set(outcomes) == {Outcome.BELOW, Outcome.NOTED}
    assert outcomes[Outcome.NOTED].message == CLIPS_ADDED


def test_every_row_of_what_can_be_mended_names_a_quantity_of_the_registry():
    assert {key for key, _outcome in MENDS} <= set(QUANTITIES)
    assert all(measured_until(one) in Stage for one in QUANTITIES.values())


def test_what_is_as_it_should_be_is_told_while_its_stage_lasts():
    tied = number("tie_length", 72.0, when=at(1), stage=Stage.TIED)
    for stage, says in ((Stage.BOUND, True), (Stage.SCRAPED, False)):
        found = told(run_checks(reed(tied, stage=stage), SHORT_SCRAPE), stage)
        assert ("tie_length" in [one.quantity for one in found]) is says
