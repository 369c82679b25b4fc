"""One reed, one step: at most one thing at a time that cannot be undone, and none that is forbidden."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reeds.checks.facts import Told
from reeds.checks.findings import spread
from reeds.checks.next_steps import NEXT_STEPS, WAIT, step_for
from reeds.checks.one_step import FIRST, NOT_SHORTER, SPOKEN_AGAINST, may_be_shorter
from reeds.checks.registry import run_checks
from reeds.checks.work import Takes, Work
from reeds.numbers.measured import Measured
from reeds.numbers.words import Method, Stage, Style
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE, STARTERS
from tests.reeds.checks.make import at, clip, look, number, reed, step
from tests.reeds.checks.test_registry import REEDS

SHEETS = st.sampled_from(list(STARTERS.values()))
PLAYED = st.dictionaries(
    st.sampled_from(["low_notes", "staccato", "third_octave", "effort"]), st.integers(1, 5)
)
PLAYING = REEDS.filter(lambda facts: facts.style is not Style.OTHER).flatmap(
    lambda facts: PLAYED.map(
        lambda answers: replace(
            facts, stage=Stage.PLAYING, may_act=True, answers={**facts.answers, **answers}
        )
    )
)


def steps(found, facts):
    """The rows of the steps that are shown and cannot be undone."""
    return [step_for(facts.style, one.step_key) for one in spread(found) if one.irreversible]


def faces_no_danger(facts, sheet):
    """The rules, said anew: one step, none on a reed that leaks, no clip on one that is short already."""
    found = run_checks(facts, sheet)
    shown = steps(found, facts)
    assert len(shown) <= 1
    for row in shown:
        assert facts.choice("airtight") != "no"
        assert row.takes is not Takes.CLIP or may_be_shorter(facts, sheet)
        others = [step_for(facts.style, one.step_key) for one in spread(found) if one.step_key != row.finding]
        assert not any(row.takes in other.forbids for other in others if other)
    uneven = [one for one in found if one.check == "evenness" and one.accuses]
    if uneven:
        assert not shown or shown[0].work is Work.EVENNESS
    if any("Do not clip" in one.next_step for one in found):
        assert not any(row.takes is Takes.CLIP for row in shown)


@given(REEDS, SHEETS)
def test_no_reed_gets_two_steps_that_cannot_be_undone(facts, sheet):
    faces_no_danger(facts, sheet)


@given(PLAYING, SHEETS)
def test_nor_does_one_that_is_played_by_a_student_who_may_act(facts, sheet):
    faces_no_danger(facts, sheet)


@given(PLAYING, SHEETS)
def test_nothing_is_taken_off_where_nothing_speaks_and_nobody_looked_for_a_leak(facts, sheet):
    numbers = {key: one for key, one in facts.numbers.items() if key != "airtight"}
    silent = replace(facts, numbers=numbers, answers={"low_notes": 1, "staccato": 2, "effort": 5})
    assert not any(row.takes for row in steps(run_checks(silent, sheet), silent))


def playing(*readings, style=Style.SHORT, **answers):
    given_ = {"may_act": True, "stage": Stage.PLAYING, "answers": answers}
    return reed(look("airtight", "yes"), *readings, style=style, **given_)


def told(facts, sheet=SHORT_SCRAPE):
    return {one.quantity or one.choice: one for one in run_checks(facts, sheet) if one.needs_attention}


def test_the_first_in_the_order_of_work_has_the_step_and_the_others_name_it():
    found = told(playing(look("closing", "together"), effort=4, staccato=2, third_octave=1))
    assert step(found["effort"]).startswith("Take a little more from the first scraped area")
    for item in ("staccato", "third_octave"):
        assert found[item].next_step == FIRST
        assert step(found[item]) == "This waits. First: how hard it is to blow."
        assert not found[item].irreversible


def test_a_student_who_may_not_act_waits_for_the_first_only():
    facts = replace(playing(look("closing", "together"), staccato=2, third_octave=1), may_act=False)
    found = told(facts)
    assert found["staccato"].next_step == WAIT
    assert found["third_octave"].next_step == FIRST


def test_on_an_uneven_opening_nothing_else_is_scraped():
    found = told(playing(look("closing", "left_first"), effort=5, staccato=1))
    assert step(found["closing"]).startswith("Send a photo into the tip")
    assert step(found["effort"]) == "This waits. First: both sides of the opening alike."
    long = told(playing(look("closing", "left_first"), style=Style.LONG, staccato=1), LONG_SCRAPE)
    assert step(long["staccato"]) == "This waits. First: both sides of the opening alike."


def beside_the_reference(facts):
    """The same reed, its tuning note recorded clearly, twice alike, and the reference reed's beside it."""
    own, other = Told(cents=facts.value("a4_cents")), Told(cents=Measured(0.0, 2.0))
    return replace(facts, takes={"tuning": own}, reference_takes={"tuning": other})


def flat_and_easy(overall, *made):
    tuned = number("a4_cents", -25.0, 2.0, method=Method.RECORDING)
    length = number("overall_length", overall, 0.05, when=at(9), stage=Stage.PLAYING)
    return replace(beside_the_reference(playing(tuned, length, effort=2)), clips=made)


@pytest.mark.parametrize(
    ("overall", "made", "clips"),
    [
        (71.0, (clip(1.0, 1),), True),
        (69.8, (clip(1.0, 1),), True),
        (69.6, (clip(1.0, 1),), False),  # the next clip would bring it under the low limit of 69.5
        (69.0, (clip(1.0, 1),), False),
        (71.0, (clip(1.4, 1),), False),  # the next clip would bring it over the high limit of 1.5
        (69.0, (clip(3.0, 1),), False),
    ],
)
def test_a_reed_at_its_low_limit_or_clipped_enough_is_not_clipped(overall, made, clips):
    (found,) = [
        one for one in run_checks(flat_and_easy(overall, *made), SHORT_SCRAPE) if one.quantity == "a4_cents"
    ]
    assert found.irreversible is clips
    assert (found.next_step == NOT_SHORTER) is not clips


def test_a_tie_length_less_the_clips_tells_where_nobody_measured_the_reed():
    tuned = number("a4_cents", -25.0, 2.0, method=Method.RECORDING)
    facts = replace(playing(tuned, number("tie_length", 70.4), effort=2), clips=(clip(1.0, 1),))
    assert not may_be_shorter(facts, SHORT_SCRAPE)


def test_do_not_clip_stands_beside_no_clip():
    sharp = number("a4_cents", 25.0, 2.0, method=Method.RECORDING)
    facts = playing(sharp, look("crow", "flat"), style=Style.LONG, effort=4)
    facts = replace(beside_the_reference(facts), staple_length=47.0)
    found = told(facts, LONG_SCRAPE)
    assert found["a4_cents"].irreversible
    assert found["crow"].next_step == SPOKEN_AGAINST


def test_a_wild_crow_forbids_scraping():
    facts = playing(look("crow", "wild"), look("closing", "together"), style=Style.LONG, staccato=1)
    found = told(facts, LONG_SCRAPE)
    assert found["staccato"].next_step == SPOKEN_AGAINST
    assert step(found["crow"]).startswith("Stop scraping")


def test_every_step_that_takes_wood_off_has_its_place_in_the_order_of_work():
    assert all(row.work for row in NEXT_STEPS if row.takes)
    assert [work.value for work in Work] == [
        "evenness", "effort", "corners", "tip", "low_notes", "staccato", "third_octave", "intonation",
    ]  # fmt: skip
