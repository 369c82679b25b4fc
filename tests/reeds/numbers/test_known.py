"""What one studio knows: the registry, joined by its own."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reeds.checks.findings import Outcome
from reeds.checks.mending import is_past, told
from reeds.checks.newest import newest, others
from reeds.checks.registry import run_checks
from reeds.checks.sheet import Limit, Sheet, SheetError
from reeds.numbers.quantity import ASKED_AT_ONCE, UNITS, Known, Quantity
from reeds.numbers.registry import QUANTITIES, REGISTRY
from reeds.numbers.words import Method, Stage, Style
from reeds.sheet.models.own import OWN
from tests.reeds.checks.make import look, number, reed, step, words

ANGLE = Quantity(
    key="own_angle",
    name="angle of the corners",
    unit="°",
    spellings=UNITS["°"],
    stage=Stage.FINISHING,
    low=0.0,
    high=90.0,
    u={Method.EYE: 2.0},
    method=Method.EYE,
    methods=(Method.EYE,),
    optional=True,
)
CORK = Quantity(
    key="own_cork",
    name="the cork sits",
    unit="",
    stage=Stage.TIED,
    kind="choice",
    choices=(("choice_1", "tight"), ("choice_2", "loose")),
    method=Method.EYE,
    methods=(Method.EYE,),
    optional=True,
    at_bench=True,
)
KNOWN = Known(QUANTITIES, [ANGLE, CORK])


def sheet(*limits):
    return Sheet(Style.SHORT, limits, KNOWN)


ON_ANGLE = Limit(quantity="own_angle", low=20.0, aim=30.0, high=40.0)


def test_its_own_comes_after_the_registry_and_the_registry_is_not_touched():
    assert list(KNOWN)[: len(QUANTITIES)] == list(QUANTITIES)
    assert list(KNOWN)[-2:] == ["own_angle", "own_cork"]
    assert len(KNOWN) == len(QUANTITIES) + 2
    assert "own_angle" not in REGISTRY
    assert KNOWN.is_own("own_angle")
    assert not KNOWN.is_own("gouge")


def test_an_own_one_never_takes_the_place_of_the_registry_s():
    thief = Quantity(key="gouge", name="another", stage=Stage.CANE, low=1.0, high=2.0)
    assert Known(QUANTITIES, [thief])["gouge"] is QUANTITIES["gouge"]


def test_no_key_of_the_registry_looks_like_a_studio_s_own():
    assert not any(key.startswith(OWN) for key in QUANTITIES)


def test_on_the_sheet_it_is_asked_beside_the_six_of_the_registry():
    for stage in Stage:
        usual = REGISTRY.asked_at(stage, QUANTITIES)
        asked = KNOWN.asked_at(stage, [*QUANTITIES, "own_angle"])
        assert len(usual) <= ASKED_AT_ONCE
        assert asked == [*usual, *([ANGLE] if stage is Stage.FINISHING else [])]


def test_off_the_sheet_it_is_not_asked_and_may_still_be_picked():
    assert ANGLE not in KNOWN.asked_at(Stage.FINISHING, ["tip_length"])
    assert ANGLE not in KNOWN.asked_at(Stage.FINISHING)
    assert ANGLE in KNOWN.typed


def test_a_thing_seen_is_asked_at_its_stage_of_every_scrape():
    for style in Style:
        assert CORK in KNOWN.noted_at(Stage.TIED, style)
        assert CORK not in KNOWN.noted_at(Stage.BOUND, style)


def test_retired_it_is_known_and_asked_no_more():
    retired = Known(QUANTITIES, [ANGLE, CORK], {"own_angle", "own_cork"})
    assert retired["own_angle"] is ANGLE
    assert ANGLE not in retired.asked_at(Stage.FINISHING, ["own_angle"])
    assert CORK not in retired.noted_at(Stage.TIED, Style.SHORT)
    offered = [*retired.typed, *retired.on_sheets]
    assert ANGLE not in offered
    assert CORK not in offered


def test_it_is_judged_by_its_row_within_its_doubt():
    steep = reed(number("own_angle", 60.0, u=2.0, method=Method.EYE), stage=Stage.FINISHING)
    (found,) = [one for one in run_checks(steep, sheet(ON_ANGLE)) if one.quantity == "own_angle"]
    assert found.outcome is Outcome.ABOVE
    assert words(found) == "Angle of the corners: 60 ° is above the high limit of 40."
    assert step(found) == "Measure it once more. If it stays so, note it for the next reed."
    near = reed(number("own_angle", 39.0, u=2.0, method=Method.EYE), stage=Stage.FINISHING)
    (found,) = [one for one in run_checks(near, sheet(ON_ANGLE)) if one.quantity == "own_angle"]
    assert found.outcome is Outcome.TOO_CLOSE


def test_on_the_sheet_and_not_noted_it_is_missing_at_its_stage_alone():
    for stage in Stage:
        found = [one for one in run_checks(reed(stage=stage), sheet(ON_ANGLE)) if one.quantity == "own_angle"]
        assert [one.outcome for one in found] == ([Outcome.MISSING] if stage is Stage.FINISHING else [])


def test_past_its_stage_it_is_a_remark():
    facts = reed(number("own_angle", 60.0, u=2.0, stage=Stage.FINISHING), stage=Stage.PLAYING)
    (found,) = [one for one in run_checks(facts, sheet(ON_ANGLE)) if one.quantity == "own_angle"]
    assert (found.outcome, found.next_step) == (Outcome.NOTED, "")
    assert is_past(found, Stage.PLAYING, KNOWN)
    assert told([found], Stage.PLAYING, KNOWN) == [found]


def test_a_thing_seen_is_judged_where_the_sheet_wants_a_word_and_else_only_shown():
    loose = reed(look("own_cork", "choice_2", stage=Stage.TIED))
    assert [one for one in run_checks(loose, sheet()) if one.quantity == "own_cork"] == []
    (found,) = [
        one
        for one in run_checks(loose, sheet(Limit(quantity="own_cork", choice="choice_1")))
        if one.quantity == "own_cork"
    ]
    assert words(found) == "The cork sits: loose; the sheet has: tight."


def test_student_and_teacher_who_disagree_on_it_are_told():
    mine = number("own_angle", 30.0, u=1.0, stage=Stage.FINISHING)
    hers = number("own_angle", 45.0, u=1.0, stage=Stage.FINISHING, by_teacher=True)
    assert newest([mine, hers], KNOWN)["own_angle"] is hers
    assert others([mine, hers], KNOWN)["own_angle"] == (mine,)
    assert newest([mine, hers]) == {}


def test_a_sheet_without_it_does_not_know_it():
    with pytest.raises(SheetError, match="no quantity called own_angle"):
        Sheet(Style.SHORT, (ON_ANGLE,))
    with pytest.raises(SheetError, match="Angle of the corners: 99 cannot be right"):
        sheet(Limit(quantity="own_angle", high=99.0))
    assert Sheet.from_json(sheet(ON_ANGLE).to_json(), KNOWN) == sheet(ON_ANGLE)


@given(st.floats(0.0, 90.0), st.floats(0.01, 20.0), st.sampled_from(Stage))
def test_whatever_is_noted_of_it_can_be_said(value, u, stage):
    facts = reed(number("own_angle", value, u=u, stage=Stage.FINISHING), stage=stage)
    for found in run_checks(facts, sheet(ON_ANGLE)):
        assert "%(" not in words(found) + step(found)
