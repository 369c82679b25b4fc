"""What takes something off is a small experiment: how much and where, then what to play and to look at."""

from reeds.checks.experiments import EXPERIMENTS, MOST_STROKES, Side, experiment_for
from reeds.checks.findings import Finding
from reeds.checks.next_steps import LEAK_FIRST, NEXT_STEPS, WAIT, experiment_in
from reeds.checks.registry import run_checks
from reeds.checks.work import Takes
from reeds.numbers.words import Stage, Style
from reeds.sheet.starters import SHORT_SCRAPE
from tests.reeds.checks.make import look, number, reed

TAKING_OFF = [step for step in NEXT_STEPS if step.irreversible and step.takes is not Takes.GIVE_UP]


def test_every_step_that_takes_something_off_says_how_much_where_and_what_then():
    for step in TAKING_OFF:
        doing = experiment_for(step.style, step.finding)
        assert doing, step
        assert doing.how, step
        assert doing.then, step
        assert (doing.strokes is None) == (step.takes is Takes.CLIP), step


def test_no_experiment_belongs_to_no_step():
    steps = {(step.style, step.finding) for step in TAKING_OFF}
    assert {(one.style, one.finding) for one in EXPERIMENTS} == steps
    assert len(EXPERIMENTS) == len(steps)


def test_the_side_of_the_strokes_is_that_of_the_step():
    sides = {one.finding: one.strokes.side for one in EXPERIMENTS if one.strokes}
    assert (sides["side:left"], sides["side:right"]) == (Side.LEFT, Side.RIGHT)
    assert all(0 < one.strokes.count <= MOST_STROKES for one in EXPERIMENTS if one.strokes)


def hard(**given):
    seen = (look("airtight", "yes"), look("closing", "together"), number("opening_height", 0.6))
    return reed(*seen, stage=Stage.FINISHING, answers={"low_notes": 3, "effort": 4}, **given)


def test_the_finding_with_the_step_carries_it_and_no_other():
    found = run_checks(hard(may_act=True), SHORT_SCRAPE)
    doing = [one for one in found if one.how or one.then]
    assert [one.step_key for one in doing] == ["effort:hard"]
    assert doing[0].irreversible


def test_who_waits_is_told_no_strokes_but_the_form_knows_them():
    found = run_checks(hard(may_act=False), SHORT_SCRAPE)
    assert not any(one.how for one in found)
    assert experiment_in(found, Style.SHORT) == experiment_for(Style.SHORT, "effort:hard")


def test_a_leaking_reed_has_no_experiment():
    leaking = Finding(
        check="heard", outcome="below", next_step=LEAK_FIRST, waits=True, step_key="low_notes:low"
    )
    assert experiment_in([leaking], Style.SHORT) is None
    waiting = Finding(check="heard", outcome="below", next_step=WAIT, waits=True, step_key="low_notes:low")
    assert experiment_in([leaking, waiting], Style.SHORT) is not None
