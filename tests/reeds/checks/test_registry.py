"""All checks together: whatever is known of a reed, every finding can be said and stored."""

import json
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reeds.checks import cane, clips
from reeds.checks.facts import Clip, Reading, ReedFacts
from reeds.checks.findings import Finding, Outcome, spread
from reeds.checks.registry import CHECKS, run_checks
from reeds.numbers.measured import Measured
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import EFFORT, PLAYING_TEST, Flexibility, Method, Moisture, Stage, Style, said
from reeds.sheet.starters import STARTERS
from tests.reeds.checks.make import at, look, number, reed

MOMENTS = st.none() | st.integers(0, 500).map(at)


def readings_of(quantity):
    choice = st.sampled_from([value for value, _label in quantity.choices] or [""])
    measured = st.builds(Measured, st.floats(quantity.low, quantity.high), st.floats(0, 2))
    return st.builds(
        Reading,
        quantity=st.just(quantity.key),
        measured=measured if quantity.is_number else st.none(),
        choice=choice,
        method=st.sampled_from(Method),
        moisture=st.sampled_from(Moisture),
        when=MOMENTS,
        stage=st.none() | st.sampled_from(Stage),
        batch=st.sampled_from(["", "photo 1", "photo 2"]),
    )


NUMBERS = st.fixed_dictionaries({}, optional={key: readings_of(q) for key, q in QUANTITIES.items()})
CLIPS = st.lists(
    st.builds(Clip, st.builds(Measured, st.floats(0.05, 2), st.floats(0, 0.5)), MOMENTS), max_size=3
)
ANSWERS = st.dictionaries(st.sampled_from([*PLAYING_TEST, EFFORT, "other"]), st.integers(-1, 7))
REEDS = st.builds(
    ReedFacts,
    style=st.sampled_from(Style),
    stage=st.sampled_from(Stage),
    staple_length=st.none() | st.sampled_from([44.0, 45.0, 46.0, 47.0]),
    flexibility=st.sampled_from(Flexibility),
    numbers=NUMBERS,
    clips=CLIPS.map(tuple),
    rested=st.none() | st.timedeltas(timedelta(0), timedelta(days=900)),
    answers=ANSWERS,
    may_act=st.booleans(),
)


@given(REEDS, st.sampled_from(list(STARTERS.values())))
def test_whatever_is_known_of_a_reed_every_finding_can_be_said_and_stored(facts, sheet):
    for found in run_checks(facts, sheet):
        assert said(found.message, found.params)
        assert "%(" not in said(found.message, found.params) + said(found.next_step, found.params)
        assert Finding.from_json(json.loads(json.dumps(found.as_json()))) == found
        assert found.quantity in {*QUANTITIES, ""}


@given(REEDS, st.sampled_from(list(STARTERS.values())))
def test_a_student_who_may_not_act_is_never_shown_a_step_that_cannot_be_undone(facts, sheet):
    if not facts.may_act:
        assert not any(found.irreversible for found in run_checks(facts, sheet))
    assert not any(found.irreversible and found.waits for found in run_checks(facts, sheet))


@given(REEDS, st.sampled_from(list(STARTERS.values())))
def test_a_fault_is_never_called_on_a_number_at_its_aim(facts, sheet):
    for found in run_checks(facts, sheet):
        if found.aim is not None and found.value == found.aim:
            assert not found.is_fault


def test_every_check_names_what_it_rests_on_and_itself_in_its_findings():
    assert len({check.key for check in CHECKS}) == len(CHECKS)
    assert all(check.name and check.source for check in CHECKS)


def test_a_finding_carries_the_key_of_its_check():
    facts = reed(number("tie_length", 74.0), look("airtight", "no"), number("cane_beyond_staple", 27.0))
    keys = {check.key for check in CHECKS}
    assert {found.check for found in run_checks(facts, STARTERS[Style.SHORT])} <= keys


def test_contradictions_are_told_before_the_limits():
    facts = reed(number("tie_length", 74.0), number("cane_beyond_staple", 27.0))
    told = run_checks(facts, STARTERS[Style.SHORT])
    outcomes = [one.outcome for one in spread(told)]
    assert told[0].outcome is Outcome.CONTRADICTION
    assert outcomes.index(Outcome.CONTRADICTION) < outcomes.index(Outcome.ABOVE)


@pytest.mark.parametrize("stage", Stage)
def test_a_reed_of_which_nothing_is_known_is_only_missing_something(stage):
    found = run_checks(reed(stage=stage), STARTERS[Style.SHORT])
    remarks = {cane.NOT_FELT} if stage is Stage.SCRAPED else {clips.NEVER}
    told = [one for one in found if one.message not in remarks]
    assert {one.outcome for one in told} <= {Outcome.MISSING}
    assert {one.outcome for one in found} <= {Outcome.MISSING, Outcome.NOTED}
