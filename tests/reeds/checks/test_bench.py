"""What is noted at the bench: told of where the trade or the sheet gives a reason, else only shown."""

import json

import pytest

from reeds.checks import bench
from reeds.checks.bench import REASONS, reason_for
from reeds.checks.findings import FAULTS, Finding, Outcome, spread
from reeds.checks.mending import told
from reeds.checks.next_steps import step_for
from reeds.checks.registry import run_checks
from reeds.checks.sheet import Limit, Sheet
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method, Stage, Style
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from tests.reeds.checks.make import look, number, reed, step, words

ITEMS = [quantity for quantity in QUANTITIES.values() if quantity.at_bench and not quantity.is_number]


def noted(key, choice, **rest):
    return reed(look(key, choice, stage=QUANTITIES[key].stage), stage=QUANTITIES[key].stage, **rest)


def test_every_reason_is_of_a_choice_that_its_scrape_has_and_names_what_it_rests_on():
    for one in REASONS:
        item = QUANTITIES[one.quantity]
        assert item.at_bench
        assert one.choice in dict(item.choices)
        assert item.belongs_to(one.style or Style.SHORT)
        assert one.source
        assert one.message


def test_every_reason_comes_with_a_step():
    for one in REASONS:
        for style in [one.style] if one.style else [Style.SHORT, Style.LONG]:
            assert step_for(style, f"{one.quantity}:{one.choice}"), (style, one.quantity, one.choice)


@pytest.mark.parametrize("style", [Style.SHORT, Style.LONG])
@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.key)
def test_what_is_usual_is_only_shown(item, style):
    usual = item.choices[0][0]
    found = bench.check(noted(item.key, usual, style=style), SHORT_SCRAPE)
    assert found == []


def test_a_deep_cut_is_told_with_its_step_and_caution_and_can_be_stored():
    (found,) = bench.check(noted("fold_cut", "deep"), SHORT_SCRAPE)
    assert found.outcome is Outcome.DIFFERS
    assert words(found) == "The fold was cut deep: the opening can stay too wide."
    assert step(found).startswith("Close it by hand, soaked")
    assert "Only soaked" in found.caution
    assert not found.irreversible
    assert Finding.from_json(json.loads(json.dumps(found.as_json()))) == found


def test_a_slip_is_spoken_of_in_the_short_scrape_and_not_in_the_long():
    assert [one.outcome for one in bench.check(noted("blades_lie", "slip"), SHORT_SCRAPE)] == [Outcome.NOTED]
    assert bench.check(noted("blades_lie", "slip", style=Style.LONG), LONG_SCRAPE) == []
    assert reason_for(Style.OTHER, "blades_lie", "slip") is None


def test_the_sheet_goes_before_the_trade():
    wants_slip = Sheet(Style.SHORT, (Limit(quantity="blades_lie", choice="slip"),))
    (found,) = bench.check(noted("blades_lie", "slip"), wants_slip)
    assert (found.outcome, found.next_step) == (Outcome.WITHIN, "")
    (other,) = bench.check(noted("blades_lie", "flush"), wants_slip)
    assert words(other) == "The blades lie: flush; the sheet has: one slipped."


def test_what_the_sheet_forbids_is_a_fault_in_the_words_of_the_trade():
    wants_flush = Sheet(Style.SHORT, (Limit(quantity="blades_lie", choice="flush"),))
    (found,) = bench.check(noted("blades_lie", "slip"), wants_flush)
    assert found.outcome is Outcome.DIFFERS
    assert words(found).startswith("One blade stands over the other")
    assert step(found).startswith("Press it back by hand")


def test_a_row_that_only_asks_for_a_photo_judges_nothing():
    asks = Sheet(Style.SHORT, (Limit(quantity="edges", photo=True),))
    assert bench.check(noted("edges", "rounded"), asks) == []
    assert Sheet.from_json(json.loads(json.dumps(asks.to_json()))) == asks


def test_a_photo_of_nothing_seen_and_nothing_wanted_is_no_row():
    with pytest.raises(ValueError, match="choose what the sheet wants to see"):
        Sheet(Style.SHORT, (Limit(quantity="airtight", photo=True),))


def test_a_reed_that_leaks_is_told_what_lets_it_leak_under_the_leak():
    leaks = reed(
        look("airtight", "no", stage=Stage.TIED),
        look("tied_straight", "turned", stage=Stage.TIED),
        look("blades_lie", "gap", stage=Stage.TIED),
    )
    (found,) = [one for one in run_checks(leaks, SHORT_SCRAPE) if one.is_fault]
    assert found.quantity == "airtight"
    assert {one.quantity for one in found.parts} == {"tied_straight", "blades_lie"}
    assert not any(one.next_step for one in found.parts)


def test_a_wide_opening_is_told_that_the_fold_was_cut_deep_long_after():
    wide = reed(
        look("fold_cut", "deep", stage=Stage.SHAPED),
        number("opening_height", 1.6, u=0.03, method=Method.PHOTO, stage=Stage.PLAYING),
        stage=Stage.PLAYING,
    )
    (found,) = [one for one in run_checks(wide, SHORT_SCRAPE) if one.quantity == "opening_height"]
    assert [words(one) for one in found.parts] == ["The fold was cut deep: the opening can stay too wide."]


def test_what_cannot_be_mended_any_more_is_a_remark_without_a_step():
    facts = reed(look("tied_straight", "turned", stage=Stage.TIED), stage=Stage.SCRAPED)
    (found,) = [one for one in run_checks(facts, SHORT_SCRAPE) if one.quantity == "tied_straight"]
    assert (found.outcome, found.next_step) == (Outcome.NOTED, "")
    assert found in told([found], Stage.SCRAPED)


def test_scraped_past_the_grain_lines_nothing_more_is_scraped_there():
    facts = reed(
        look("grain_lines", "further", stage=Stage.SCRAPED),
        look("closing", "right_first", stage=Stage.SCRAPED),
        number("unevenness", 0.5, u=0.02, method=Method.PHOTO, stage=Stage.SCRAPED),
        stage=Stage.SCRAPED,
        may_act=True,
    )
    found = run_checks(facts, SHORT_SCRAPE)
    assert not any(one.irreversible for one in spread(found))
    assert any("Take nothing more off there" in step(one) for one in found)


def test_a_thick_corner_waits_for_an_uneven_opening():
    facts = reed(
        look("corners", "uneven", stage=Stage.FINISHING),
        look("closing", "right_first", stage=Stage.FINISHING),
        number("unevenness", 0.5, u=0.02, method=Method.PHOTO, stage=Stage.FINISHING),
        stage=Stage.FINISHING,
        may_act=True,
    )
    steps = {one.quantity: one for one in run_checks(facts, SHORT_SCRAPE)}
    assert steps["closing"].irreversible
    assert step(steps["corners"]) == "This waits. First: both sides of the opening alike."


@pytest.mark.parametrize("may_act", [True, False])
def test_a_thick_corner_alone_is_scraped_by_those_who_may(may_act):
    (found,) = bench.check(noted("corners", "uneven", may_act=may_act), SHORT_SCRAPE)
    assert found.irreversible is may_act
    assert found.waits is not may_act


def test_nothing_noted_at_the_bench_is_ever_missing():
    for stage in Stage:
        missing = [one for one in run_checks(reed(stage=stage), SHORT_SCRAPE) if one.outcome not in FAULTS]
        assert not any(one.quantity and QUANTITIES[one.quantity].at_bench for one in missing)
