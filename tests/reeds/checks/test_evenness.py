"""Both sides alike: photo and finger must agree before a side is scraped."""

import pytest

from reeds.checks import evenness
from reeds.checks.findings import Outcome
from reeds.checks.next_steps import WAIT
from reeds.numbers.words import Method, Stage, Style
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from tests.reeds.checks.make import look, number, reed, sheet, step, words

AT = Stage.SCRAPED


def photo(ratio, u=0.03, **rest):
    return number("unevenness", ratio, u, method=Method.PHOTO, **rest)


def found(*readings, on=SHORT_SCRAPE, **rest):
    rest.setdefault("may_act", True)
    return {one.quantity: one for one in evenness.check(reed(*readings, stage=AT, **rest), on)}


@pytest.mark.parametrize(
    ("ratio", "closes", "side"), [(0.4, "right_first", "left"), (-0.4, "left_first", "right")]
)
def test_the_side_that_stays_open_is_scraped_where_finger_and_photo_agree(ratio, closes, side):
    closing = found(photo(ratio), look("closing", closes))["closing"]
    assert closing.outcome is Outcome.DIFFERS
    assert step(closing).startswith(f"Scrape the {side} side a little, on both blades")
    assert closing.irreversible
    assert "Knives" in closing.caution


@pytest.mark.parametrize(("ratio", "closes"), [(0.4, "left_first"), (-0.4, "right_first")])
def test_where_finger_and_photo_disagree_nothing_is_scraped(ratio, closes):
    closing = found(photo(ratio), look("closing", closes))["closing"]
    assert closing.outcome is Outcome.CONTRADICTION
    assert "the photo shows the other side more open" in words(closing)
    assert "Do not scrape a side yet." in step(closing)
    assert not closing.irreversible


def test_the_finger_alone_asks_for_a_photo():
    closing = found(look("closing", "left_first"))["closing"]
    assert step(closing).startswith("Send a photo into the tip")
    assert not closing.irreversible


@pytest.mark.parametrize(("ratio", "u"), [(-0.1, 0.01), (-0.3, 0.3)])
def test_a_photo_that_is_even_or_unclear_names_no_side(ratio, u):
    closing = found(photo(ratio, u), look("closing", "left_first"))["closing"]
    assert "does not show it clearly" in step(closing)
    assert not closing.irreversible


def test_the_photo_alone_asks_for_the_finger():
    uneven = found(photo(0.4))["unevenness"]
    assert uneven.outcome is Outcome.ABOVE
    assert (
        words(uneven)
        == "On the photo the left half is more open than the right: 0.4, where 0.15 is still even."
    )
    assert "Press lightly with a finger" in step(uneven)
    assert "Press lightly" in step(found(photo(-0.4), look("closing", "together"))["unevenness"])


def test_an_older_photo_shows_another_reed():
    old = photo(-0.4, stage=Stage.SCRAPED)
    new = look("closing", "left_first", stage=Stage.FINISHING)
    closing = found(old, new)["closing"]
    assert step(closing).startswith("Send a photo")


def test_a_student_who_may_not_act_waits():
    closing = found(photo(0.4), look("closing", "right_first"), may_act=False)["closing"]
    assert closing.next_step == WAIT
    assert closing.waits
    assert not closing.irreversible


def test_a_long_scrape_is_shown_no_step_of_the_short_one():
    closing = found(photo(0.4), look("closing", "right_first"), style=Style.LONG, on=LONG_SCRAPE)["closing"]
    assert closing.next_step == ""
    middle = found(look("closing", "middle_first"), style=Style.LONG, on=LONG_SCRAPE)["closing"]
    assert "note it for the next reed" in step(middle)


def test_an_even_reed_is_within_on_both():
    both = found(photo(0.02), look("closing", "together"))
    assert {one.outcome for one in both.values()} == {Outcome.WITHIN}
    assert all(not one.next_step for one in both.values())


def test_what_is_not_on_the_sheet_or_too_early_is_left_alone():
    assert found(look("closing", "left_first"), on=sheet()) == {}
    assert found(look("closing", "left_first", stage=Stage.TIED)) == {}
