"""One cause, one finding: its parts are told under it and ask for nothing of their own."""

import pytest

from reeds.checks.causes import HEARD, NOTHING_SPEAKS, PLAYED, PRINT_SCALE, RECORDED, SUMS, TWICE
from reeds.checks.findings import Finding, Outcome, need_of, spread
from reeds.checks.mending import told
from reeds.checks.next_steps import step_for
from reeds.checks.one_step import EVENNESS
from reeds.checks.registry import CHECKS, run_checks
from reeds.numbers.words import Method, Stage, Style
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from tests.reeds.checks.make import at, clip, look, number, reed, step, words

SEEN = look("airtight", "yes")


def asked(facts, sheet=SHORT_SCRAPE):
    """What needs attention, without what was only not noted yet."""
    found = run_checks(facts, sheet)
    return [one for one in found if one.needs_attention and one.outcome is not Outcome.MISSING]


def parts(found):
    return [(one.quantity or one.choice, one.outcome) for one in found.parts]


def test_a_misread_tie_length_is_one_finding_with_its_parts():
    tied = reed(
        SEEN, number("staple_length", 45.0), number("cane_beyond_staple", 27.0), number("tie_length", 76.0)
    )
    (found,) = asked(tied)
    assert (found.outcome, found.quantity) == (Outcome.CONTRADICTION, "tie_length")
    assert parts(found) == [("tie_length", Outcome.ABOVE)]
    assert all(not part.next_step for part in found.parts)


def test_a_long_tie_is_told_where_it_begins():
    long = [number("staple_length", 45.0), number("cane_beyond_staple", 30.0), number("tie_length", 75.0)]
    (found,) = asked(reed(SEEN, *long))
    assert found.quantity == "cane_beyond_staple"
    assert parts(found) == [("tie_length", Outcome.ABOVE)]
    assert step(found).endswith("it can still be tied again.")


def test_numbers_that_are_off_on_different_sides_are_two_findings():
    found = asked(
        reed(SEEN, number("cane_beyond_staple", 25.0), number("tie_length", 75.0), staple_length=None)
    )
    assert len(found) <= 1, "without a staple there is no limit for the tie"
    off = [number("cane_beyond_staple", 28.7, 0.05), number("tie_length", 70.5, 0.05)]
    found = asked(reed(SEEN, *off, staple_length=45.0))
    assert [one.outcome for one in found] == [Outcome.CONTRADICTION]
    assert parts(found[0]) == [("cane_beyond_staple", Outcome.ABOVE), ("tie_length", Outcome.BELOW)]


def test_a_staple_of_another_length_than_noted_is_the_cause():
    """47 mm measured on a reed noted as on a 45: the tie and the sum hang on it."""
    on_47 = [number("staple_length", 47.0), number("cane_beyond_staple", 27.0), number("tie_length", 74.0)]
    (found,) = asked(reed(SEEN, *on_47))
    assert found.quantity == "staple_length"
    assert "put the staple right" in step(found)
    assert ("tie_length", Outcome.ABOVE) in parts(found)


def test_an_overall_length_that_a_long_tie_explains_carries_it_as_a_remark():
    readings = [
        number("tie_length", 75.0, when=at(1), stage=Stage.TIED),
        number("overall_length", 74.0, when=at(9), stage=Stage.FINISHING),
        number("tip_length", 2.5, 0.05),
        look("closing", "together"),
    ]
    (found,) = asked(reed(SEEN, *readings, stage=Stage.FINISHING, clips=(clip(1.0, 2),)))
    assert found.quantity == "overall_length"
    assert parts(found) == [("tie_length", Outcome.NOTED)]
    assert step(found) == "Leave it so until it plays: it can still be made shorter."


def test_a_leak_explains_what_does_not_speak():
    facts = reed(
        look("airtight", "no"), look("closing", "together"), stage=Stage.PLAYING,
        answers={"low_notes": 1, "staccato": 2, "effort": 5}, may_act=True,
    )  # fmt: skip
    (found,) = asked(facts)
    assert (found.quantity, found.outcome) == ("airtight", Outcome.DIFFERS)
    assert [key for key, _outcome in parts(found)] == ["low_notes", "staccato", "effort"]
    assert not any(one.irreversible for one in spread([found]))


def test_nothing_speaks_is_one_finding():
    (found,) = asked(reed(stage=Stage.PLAYING, answers={"low_notes": 1, "staccato": 1}, may_act=True))
    assert step(found).startswith("See first whether it is airtight")
    assert len(found.parts) == 2


def test_finger_and_photo_of_one_opening_are_one_finding():
    photo = number("unevenness", 0.4, 0.03, method=Method.PHOTO)
    (found,) = asked(reed(SEEN, photo, look("closing", "right_first"), stage=Stage.SCRAPED, may_act=True))
    assert step(found).startswith("Scrape the left side a little")
    assert parts(found) == [("unevenness", Outcome.ABOVE)]


def test_pitch_and_effort_are_one_finding_with_one_step():
    tuned = number("a4_cents", 25.0, 2.0, method=Method.RECORDING)
    (found,) = asked(
        reed(SEEN, tuned, look("closing", "together"), stage=Stage.PLAYING, answers={"effort": 4})
    )
    assert words(found) == "It plays sharp and blows hard."
    assert parts(found) == [("a4_cents", Outcome.ABOVE)]
    assert need_of([found]) == 4


def test_numbers_that_have_nothing_to_do_with_each_other_stay_apart():
    """An end thinned too little and a tip too wide are two causes."""
    facts = reed(number("end_thinned", 6.0), number("tip_width", 8.0, 0.05), stage=Stage.SHAPED)
    assert [one.quantity for one in asked(facts)] == ["end_thinned", "tip_width"]


def test_zones_of_a_long_scrape_that_do_not_add_up_are_one_finding():
    zones = {
        "bark_length": 3.0,
        "back_length": 14.0,
        "heart_length": 5.0,
        "tip_length": 4.0,
        "overall_length": 70.0,
    }
    facts = reed(
        *(number(key, mm) for key, mm in zones.items()), SEEN, look("closing", "together"),
        style=Style.LONG, stage=Stage.FINISHING, staple_length=47.0,
    )  # fmt: skip
    (found,) = asked(facts, LONG_SCRAPE)
    assert found.outcome is Outcome.CONTRADICTION
    assert parts(found) == [("back_length", Outcome.ABOVE)]


def test_a_finding_with_parts_comes_back_from_storage_and_an_old_one_has_none():
    part = Finding(check="limits", outcome=Outcome.ABOVE, quantity="tie_length", also=("gouge",))
    found = Finding(check="sums", outcome=Outcome.CONTRADICTION, parts=(part,))
    assert Finding.from_json(found.as_json()) == found
    assert Finding.from_json({"check": "sums", "outcome": "above"}).parts == ()


def test_a_round_is_not_told_what_a_tool_cannot_decide():
    """That stands beside the quantity on the sheet and beside the field."""
    found = run_checks(reed(SEEN, number("staple_length", 45.0)), SHORT_SCRAPE)
    assert Outcome.UNDECIDABLE in {one.outcome for one in found}
    assert Outcome.UNDECIDABLE not in {one.outcome for one in told(found, Stage.TIED)}


@pytest.mark.parametrize(
    ("outcome", "accuses"), [("too_close", False), ("missing", False), ("contradiction", True)]
)
def test_too_close_to_call_is_no_accusation(outcome, accuses):
    assert Finding(check="limits", outcome=Outcome(outcome)).accuses is accuses


def test_causes_and_the_one_step_name_checks_and_steps_that_there_are():
    keys = {check.key for check in CHECKS}
    assert {HEARD, RECORDED, TWICE, PRINT_SCALE, EVENNESS, *PLAYED, *SUMS} <= keys
    assert step_for(Style.SHORT, NOTHING_SPEAKS)
