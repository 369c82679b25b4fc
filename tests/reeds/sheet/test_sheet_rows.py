"""A sheet as a page shows it: what a tool cannot decide, and the stages in order."""

from __future__ import annotations

import pytest

from reeds.checks.sheet import Limit
from reeds.numbers.registry import QUANTITIES
from reeds.sheet.forms.rows import by_stage, hint_of, rows_of
from reeds.sheet.starters import STARTERS


@pytest.mark.parametrize(
    ("quantity", "low", "high", "hint"),
    [
        # a ruler's u is 0.2 mm: 3.92 times that is 0.784 mm
        ("tie_length", 71.6, 72.4, ""),
        ("tie_length", 71.7, 72.4, "Ruler is too coarse here: take caliper or photo."),
        # a caliper's u is 0.05 mm: 0.196 mm
        ("slip", 0.2, 0.4, ""),
        ("tie_length", 71.9, 72.0, "Ruler is too coarse here: take photo."),
        # a dial's u is 0.01 mm: 0.0392 mm
        ("gouge", 0.57, 0.60, "Dial gauge is too coarse here, and so is any other tool named here."),
        ("tie_length", None, 73.0, ""),
    ],
)
def test_tool_too_coarse_for_the_range_is_named_with_those_that_will_do(quantity, low, high, hint):
    assert hint_of(QUANTITIES[quantity], [Limit(quantity=quantity, low=low, high=high)]) == hint


def test_narrowest_of_several_rows_decides_and_a_choice_has_no_hint():
    rows = [
        Limit(quantity="tie_length", low=70.0, high=75.0),
        Limit(quantity="tie_length", low=72.0, high=72.1, staple=45.0),
    ]
    assert hint_of(QUANTITIES["tie_length"], rows)
    assert hint_of(QUANTITIES["airtight"], [Limit(quantity="airtight", choice="yes")]) == ""


@pytest.mark.parametrize("style", STARTERS)
def test_every_row_of_a_starter_is_shown_once_with_the_stages_in_order(style):
    sheet = STARTERS[style]
    stages = by_stage(rows_of(sheet))
    shown = [row for _stage, quantities in stages for one in quantities for row in one.limits]
    assert sorted(map(repr, shown)) == sorted(map(repr, sheet.limits))
    orders = [stage.order for stage, _rows in stages]
    assert orders == sorted(set(orders))
