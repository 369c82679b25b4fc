"""Whole reeds, and what a teacher would and would not say of them."""

from dataclasses import replace

import pytest

from reeds.checks.findings import Outcome, spread
from reeds.checks.mending import told
from reeds.checks.registry import run_checks
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Stage, Style, said
from reeds.sheet.starters import STARTERS
from tests.outside.whole_reeds import STAGES, Whole, facts_of
from tests.outside.whole_reeds_at_bench import BY_THE_BOOK
from tests.outside.whole_reeds_table import WHOLE_REEDS


def findings_of(row):
    facts = facts_of(row)
    return told(run_checks(facts, STARTERS[row.style]), facts.stage)


def in_words(findings):
    return " ".join(f"{said(one.message, one.params)} {said(one.next_step, one.params)}" for one in findings)


@pytest.mark.parametrize("row", WHOLE_REEDS, ids=lambda row: row.name)
def test_a_whole_reed_is_judged_as_a_teacher_would(row):
    found = findings_of(row)
    assert sorted(one.quantity or one.choice for one in found if one.needs_attention) == sorted(row.asks)
    words = in_words(found)
    for part in row.says:
        assert part in words
    for part in row.never:
        assert part not in words
    assert row.source


@pytest.mark.parametrize("row", WHOLE_REEDS, ids=lambda row: row.name)
def test_no_reed_of_the_table_gets_two_steps_that_cannot_be_undone(row):
    assert sum(one.irreversible for one in spread(findings_of(row))) <= 1
    waiting = findings_of(replace(row, may_act=False))
    assert not any(one.irreversible for one in spread(waiting))
    assert sum(one.waits for one in spread(waiting)) <= 1 or "airtight" in row.noted


@pytest.mark.parametrize("may_act", [True, False])
@pytest.mark.parametrize("ruler", [True, False])
@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize("style", [Style.SHORT, Style.LONG])
def test_of_a_textbook_reed_nothing_is_asked_at_any_stage(style, stage, ruler, may_act):
    found = findings_of(Whole(name="textbook", style=style, stage=stage, ruler=ruler, may_act=may_act))
    assert not [one for one in found if one.needs_attention or one.next_step]


@pytest.mark.parametrize("stage", STAGES)
def test_of_a_reed_made_by_the_book_and_noted_at_the_bench_nothing_is_asked_either(stage):
    book = {key: value for key, value in BY_THE_BOOK.items() if QUANTITIES[key].stage.order <= stage.order}
    found = findings_of(Whole(name="by the book", stage=stage, noted=book))
    assert not [one for one in found if one.needs_attention or one.next_step]


@pytest.mark.parametrize("style", [Style.SHORT, Style.LONG])
def test_a_textbook_reed_that_is_over_is_left_in_peace(style):
    facts = replace(facts_of(Whole(name="textbook", style=style)), stage=Stage.PLAYED_OUT)
    assert not [one for one in run_checks(facts, STARTERS[style]) if one.needs_attention or one.next_step]


def test_the_table_is_large_and_every_row_another_reed():
    assert len({row.name for row in WHOLE_REEDS}) == len(WHOLE_REEDS) >= 80
    assert {row.style for row in WHOLE_REEDS} == {Style.SHORT, Style.LONG}
    assert any(one.outcome is Outcome.NOTED for row in WHOLE_REEDS for one in findings_of(row))
