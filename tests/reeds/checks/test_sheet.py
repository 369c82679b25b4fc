"""A studio's measuring sheet: what it takes, refuses, keeps and moves."""

import json

import pytest

from reeds.checks.sheet import Limit, Sheet, SheetError, sheet_problems
from reeds.numbers.words import Flexibility, Stage, Style
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from tests.reeds.checks.make import row, sheet


@pytest.mark.parametrize("starter", [SHORT_SCRAPE, LONG_SCRAPE])
def test_a_sheet_comes_back_from_storage_as_it_was(starter):
    assert Sheet.from_json(json.loads(json.dumps(starter.to_json()))) == starter


@pytest.mark.parametrize(
    ("limit", "says"),
    [
        (row("reed_colour", 1, 2, 3), "There is no quantity called reed_colour."),
        (row("tie_length", 73, 72, 74), "Tie length: the low limit 73 is over the aim 72."),
        (row("tie_length", 71, 75, 74), "Tie length: the aim 75 is over the high limit 74."),
        (row("tie_length", 74, None, 71), "must be under the high limit"),
        (row("tie_length", 72, 72, 72), "must be under the high limit"),
        (row("tie_length", aim=72), "Tie length has neither a low nor a high limit."),
        (row("tie_length", 7.1, 72, 73), "7.1 cannot be right"),
        (Limit(quantity="closing"), "choose what the sheet wants to see"),
        (Limit(quantity="closing", choice="sideways"), "choose what the sheet wants to see"),
    ],
)
def test_a_row_that_cannot_be_right_is_refused_with_a_sentence(limit, says):
    with pytest.raises(SheetError, match=says) as caught:
        sheet(limit)
    assert caught.value.key == limit.quantity


def test_the_same_row_twice_is_refused_but_not_for_another_staple_or_cane():
    tie = row("tie_length", 71, 72, 73)
    with pytest.raises(SheetError, match="twice"):
        sheet(tie, tie)
    with pytest.raises(SheetError, match="twice"):
        sheet(row("tie_length", 71, 72, 73, staple=45.0), row("tie_length", 70, 72, 73, staple=45.0))
    both = sheet(
        tie, row("tie_length", 72, 73, 74, staple=46.0), row("tie_length", 70, 71, 72, flexibility="hard")
    )
    assert both.keys == ("tie_length",)


def test_a_form_gets_every_problem_at_once():
    rows = [row("tie_length", 73, 72, 74), row("gouge", 0.6, 0.5, 0.7), row("slip", 0.2, 0.3, 0.5)]
    assert [problem.key for problem in sheet_problems(Style.SHORT, rows)] == ["tie_length", "gouge"]
    assert [problem.key for problem in sheet_problems(Style.SHORT, rows[2:] * 2)] == ["slip"]
    assert sheet_problems(Style.SHORT, rows[2:]) == []


def test_the_row_that_depends_on_most_is_used():
    common = row("tie_length", 70, 71, 72)
    hard = row("tie_length", 70, 71.5, 72, flexibility=Flexibility.HARD)
    on_46 = row("tie_length", 72, 73, 74, staple=46.0)
    hard_46 = row("tie_length", 72, 73.5, 74, staple=46.0, flexibility=Flexibility.HARD)
    found = sheet(common, hard, on_46, hard_46)
    assert found.limit_for("tie_length") == common
    assert found.limit_for("tie_length", 45.0, Flexibility.HARD) == hard
    assert found.limit_for("tie_length", 46.0, Flexibility.MEDIUM) == on_46
    assert found.limit_for("tie_length", 46.0, Flexibility.HARD) == hard_46
    assert found.limit_for("slip") is None


def test_a_staple_typed_with_float_noise_finds_its_row():
    assert SHORT_SCRAPE.limit_for("tie_length", 45.0000001).aim == 72.0


def test_a_players_offset_moves_low_aim_and_high_of_every_row():
    moved = SHORT_SCRAPE.with_offsets({"tie_length": 1.0})
    assert [moved.limit_for("tie_length", mm).aim for mm in (45.0, 46.0, 47.0)] == [73.0, 74.0, 75.0]
    assert moved.limit_for("gouge") == SHORT_SCRAPE.limit_for("gouge")
    assert SHORT_SCRAPE.limit_for("tie_length", 45.0).aim == 72.0, "the sheet itself stays as it is"
    assert SHORT_SCRAPE.with_offsets({}) == SHORT_SCRAPE


@pytest.mark.parametrize("key", ["reed_colour", "closing"])
def test_an_offset_for_something_without_numbers_is_refused(key):
    with pytest.raises(SheetError):
        SHORT_SCRAPE.with_offsets({key: 1.0})


def test_an_offset_that_makes_a_limit_absurd_is_refused():
    with pytest.raises(SheetError, match="cannot be right"):
        SHORT_SCRAPE.with_offsets({"tie_length": 100.0})


def test_storage_of_a_later_version_is_still_read():
    stored = SHORT_SCRAPE.to_json()
    stored["limits"][0]["colour"] = "amber"
    assert Sheet.from_json(stored) == SHORT_SCRAPE


OPENING = (
    row("opening_height", 0.5, 0.6, 0.8),
    row("opening_height", 0.6, 0.7, 0.9, stage=Stage.SCRAPED),
    row("opening_height", 0.4, 0.5, 0.7, stage=Stage.PLAYING),
)


@pytest.mark.parametrize(
    ("stage", "aim"),
    [
        (None, 0.6),
        (Stage.BOUND, 0.6),
        (Stage.SCRAPED, 0.7),
        (Stage.FINISHING, 0.7),
        (Stage.PLAYING, 0.5),
        (Stage.PLAYED_OUT, 0.5),
    ],
)
def test_a_row_for_a_stage_holds_from_it_on_until_the_next(stage, aim):
    assert sheet(*OPENING).limit_for("opening_height", 45.0, Flexibility.MEDIUM, stage).aim == aim


def test_rows_for_stages_are_stored_and_told_apart():
    stored = sheet(*OPENING)
    assert Sheet.from_json(json.loads(json.dumps(stored.to_json()))) == stored
    with pytest.raises(SheetError, match="twice"):
        sheet(OPENING[1], OPENING[1])
