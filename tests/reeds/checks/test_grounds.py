"""What a recording says leads to a knife only from clear takes that agree, beside the reference reed's."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reeds.checks.facts import Told
from reeds.checks.findings import Outcome, spread
from reeds.checks.grounds import AS_HIGH, CLEARER, ONCE_MORE, REFERENCE_TOO, is_as_high
from reeds.checks.registry import run_checks
from reeds.numbers.measured import Measured
from reeds.numbers.words import Method, Stage, Style
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from tests.reeds.checks.make import look, number, reed

SHEETS = {Style.SHORT: SHORT_SCRAPE, Style.LONG: LONG_SCRAPE}
MS = st.one_of(st.none(), st.builds(Measured, st.floats(5, 600), st.floats(1, 20)))
CENTS = st.one_of(st.none(), st.builds(Measured, st.floats(-60, 60), st.floats(0.01, 5)))
TAKES = st.builds(
    Told,
    asked=st.just(4),
    spoke=st.integers(0, 4),
    response_ms=MS,
    too_noisy=st.booleans(),
    cents=CENTS,
    doubtful=st.booleans(),
    once=st.booleans(),
)
ITEMS = ("low_notes", "staccato", "third_octave", "tuning", "crow", "long_tone")
SOME = st.dictionaries(st.sampled_from(ITEMS), TAKES)


def recorded(style, takes, beside, cents, word):
    """An even, airtight reed of one who may act, of which all that is known was recorded; it blows easily."""
    numbers = [
        number("a4_cents", cents, 1.0, method=Method.RECORDING),
        replace(look("crow", word), method=Method.RECORDING),
        look("closing", "together"),
        look("airtight", "yes"),
    ]
    given_ = {"may_act": True, "takes": takes, "reference_takes": beside, "answers": {"effort": 2}}
    return reed(*numbers, style=style, stage=Stage.PLAYING, staple_length=47.0, **given_)


def knives(facts):
    return [one for one in spread(run_checks(facts, SHEETS[facts.style])) if one.irreversible]


def is_ground(own, other):
    clear = own and other and not (own.doubtful or other.doubtful or own.too_noisy or other.too_noisy)
    return bool(clear) and not own.once


@given(
    st.sampled_from([Style.SHORT, Style.LONG]),
    SOME,
    SOME,
    st.floats(-60, 60),
    st.sampled_from(["flat", "sharp", "octaves", "wild"]),
)
def test_no_knife_without_a_reference_two_that_agree_and_silence_around(style, takes, beside, cents, word):
    for found in knives(recorded(style, takes, beside, cents, word)):
        item = {"a4_cents": "tuning", "crow": "crow"}.get(found.quantity, found.choice)
        assert is_ground(takes.get(item), beside.get(item)), found


FLAT, REFERENCE = Told(cents=Measured(-25.0, 1.0)), Told(cents=Measured(0.0, 1.0))


@pytest.mark.parametrize(
    ("own", "other", "says"),
    [
        (FLAT, REFERENCE, None),
        (FLAT, None, REFERENCE_TOO),
        (None, REFERENCE, CLEARER),
        (replace(FLAT, once=True), REFERENCE, ONCE_MORE),
        (replace(FLAT, doubtful=True), REFERENCE, CLEARER),
        (FLAT, replace(REFERENCE, doubtful=True), CLEARER),
        (FLAT, replace(REFERENCE, too_noisy=True), REFERENCE_TOO),
        (FLAT, FLAT, AS_HIGH),
    ],
)
def test_a_flat_reed_that_blows_easily_is_clipped_only_on_good_ground(own, other, says):
    takes, beside = ({} if one is None else {"tuning": one} for one in (own, other))
    facts = recorded(Style.SHORT, takes, beside, -25.0, "octaves")
    found = next(one for one in spread(run_checks(facts, SHORT_SCRAPE)) if one.check == "heard")
    assert found.irreversible is (says is None)
    assert says is None or found.next_step == says


@pytest.mark.parametrize("word", ["flat", "sharp", "wild"])
def test_a_recorded_crow_leads_to_a_knife_only_on_good_ground(word):
    good = recorded(Style.LONG, {"crow": Told()}, {"crow": Told()}, 0.0, word)
    assert [one.quantity for one in knives(good)] == ["crow"]
    for takes, beside in (({"crow": Told()}, {}), ({"crow": Told(once=True)}, {"crow": Told()})):
        facts = recorded(Style.LONG, takes, beside, 0.0, word)
        assert knives(facts) == []
        found = next(one for one in spread(run_checks(facts, LONG_SCRAPE)) if one.quantity == "crow")
        assert found.outcome is Outcome.DIFFERS
        assert found.next_step in {ONCE_MORE, REFERENCE_TOO}


def test_a_crow_that_somebody_heard_needs_no_recording():
    facts = reed(
        look("crow", "flat"), look("airtight", "yes"), style=Style.LONG, stage=Stage.PLAYING, may_act=True
    )
    assert [one.quantity for one in knives(facts)] == ["crow"]


@pytest.mark.parametrize(
    ("own_ms", "once", "cuts"), [(75, False, True), (75, True, False), (300, True, True)]
)
def test_an_answer_little_later_needs_a_reference_whose_notes_agree(own_ms, once, cuts):
    own = {"staccato": Told(response_ms=Measured(own_ms, 3))}
    beside = {"staccato": Told(response_ms=Measured(40, 3), once=once)}
    assert bool(knives(recorded(Style.SHORT, own, beside, 0.0, "octaves"))) is cuts


def test_as_high_is_within_five_cents_or_the_doubt():
    assert is_as_high(FLAT, Told(cents=Measured(-21.0, 0.1)))
    assert is_as_high(FLAT, Told(cents=Measured(-15.0, 6.0)))
    assert not is_as_high(FLAT, REFERENCE)
    assert not is_as_high(FLAT, Told())
