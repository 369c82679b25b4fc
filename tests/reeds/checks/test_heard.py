"""The playing test: what is rated low, and what follows."""

import pytest

from reeds.checks import heard
from reeds.checks.facts import Told
from reeds.checks.findings import Outcome
from reeds.checks.next_steps import LEAK_FIRST, WAIT
from reeds.numbers.words import Method, Stage, Style
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from tests.reeds.checks.make import look, number, reed, step, words


def heard_of(*readings, style=Style.SHORT, may_act=True, reference_takes=None, **answers):
    given = {"answers": answers, "may_act": may_act, "reference_takes": reference_takes or {}}
    facts = reed(*readings, style=style, stage=Stage.PLAYING, **given)
    return heard.check(facts, LONG_SCRAPE if style is Style.LONG else SHORT_SCRAPE)


@pytest.mark.parametrize(
    ("answer", "says"),
    [
        ({"staccato": 1}, "middle of the tip"),
        ({"third_octave": 2}, "just under the tip"),
        ({"effort": 4}, "first scraped area, below the tip"),
    ],
)
def test_what_is_hard_has_its_usual_step(answer, says):
    (found,) = heard_of(**answer)
    assert says in step(found)
    assert found.irreversible
    assert "test again" in found.caution


def test_low_notes_ask_for_evenness_first():
    (unseen,) = heard_of(low_notes=1)
    assert step(unseen) == "See first whether both sides close together."
    (uneven,) = heard_of(look("closing", "left_first"), low_notes=1)
    assert not uneven.irreversible


@pytest.mark.parametrize(
    ("reference", "says"),
    [
        (None, "Does your reference reed speak them?"),
        (Told(4, 4, too_noisy=True), "Does your reference reed speak them?"),
        (Told(4, 4, doubtful=True), "Does your reference reed speak them?"),
        (Told(4, 2), "a pad of the oboe may leak"),
        (Told(4, 4), "lower part of the scrape"),
    ],
)
def test_low_notes_that_close_evenly_ask_for_the_reference_before_any_scraping(reference, says):
    beside = {} if reference is None else {"low_notes": reference}
    (found,) = heard_of(look("closing", "together"), reference_takes=beside, low_notes=1)
    assert says in step(found)
    assert found.irreversible is ("scrape" in says and "lower" in says)


def test_low_notes_of_a_reed_that_leaks_are_made_airtight_first():
    (found,) = heard_of(look("closing", "together"), look("airtight", "no"), low_notes=1)
    assert "airtight first" in step(found)


def test_what_is_heard_is_said_in_the_players_words():
    (found,) = heard_of(staccato=2)
    assert found.outcome is Outcome.BELOW
    assert words(found) == "Staccato on one note: speaks seldom."


@pytest.mark.parametrize("rating", [3, 4, 5, 0, 9, -1])
def test_what_speaks_and_what_is_no_rating_gets_no_word(rating):
    assert heard_of(third_octave=rating) == []


@pytest.mark.parametrize("rating", [4, 5, 0, 9, -1])
def test_a_staccato_that_speaks_gets_no_word(rating):
    assert heard_of(staccato=rating) == []


def test_a_staccato_that_speaks_late_is_a_slow_one():
    (found,) = heard_of(staccato=3)
    assert words(found) == "Staccato on one note: speaks late."
    assert "middle of the tip" in step(found)


def test_easy_to_blow_alone_is_a_remark_and_very_easy_is_not_scraped():
    (easy,) = heard_of(effort=2)
    assert (easy.outcome, words(easy), step(easy)) == (Outcome.NOTED, "It is easy to blow.", "")
    (very,) = heard_of(effort=1)
    assert very.is_fault
    assert step(very).startswith("Do not scrape on.")
    assert heard_of(effort=3) == []


def test_where_nothing_speaks_a_leak_is_asked_for_first():
    first, *_others = heard_of(low_notes=1, staccato=1, third_octave=2)
    assert words(first) == "Nothing speaks, and nobody has noted whether it is airtight."
    assert step(first).startswith("See first whether it is airtight")
    assert not first.irreversible
    known = heard_of(look("airtight", "yes"), low_notes=1, staccato=1)
    assert not any("Nothing speaks" in words(one) for one in known)
    assert not any("Nothing speaks" in words(one) for one in heard_of(low_notes=1, staccato=4))
    assert not any("Nothing speaks" in words(one) for one in heard_of(low_notes=1))


def test_an_item_that_is_not_in_the_test_gets_no_word():
    assert heard_of(whistling=1) == []


def test_an_item_without_a_usual_step_is_told_without_one():
    (found,) = heard_of(long_tone=1)
    assert found.next_step == ""


def tuned(cents):
    return number("a4_cents", cents, 2.0, method=Method.RECORDING)


def test_flat_and_easy_is_clipped_a_little():
    (found,) = heard_of(tuned(-25.0), effort=2)
    assert "0.2 mm at most" in step(found)
    assert found.irreversible


def test_sharp_and_hard_is_not_clipped():
    (found,) = heard_of(tuned(25.0), effort=4)
    assert step(found).startswith("Do not clip.")
    assert not found.irreversible


@pytest.mark.parametrize(("cents", "effort"), [(-25.0, 3), (-10.0, 1), (25.0, 3), (0.0, 1)])
def test_pitch_without_the_effort_that_goes_with_it_points_at_nothing(cents, effort):
    assert not any(one.quantity == "a4_cents" for one in heard_of(tuned(cents), effort=effort))
    assert not any(one.irreversible for one in heard_of(tuned(cents), effort=effort))


def test_a_student_who_may_not_act_waits():
    (found,) = heard_of(staccato=1, may_act=False)
    assert (found.next_step, found.caution, found.waits) == (WAIT, "", True)


def test_while_it_leaks_nothing_is_scraped():
    (found,) = heard_of(look("airtight", "no"), staccato=1)
    assert (found.next_step, found.irreversible) == (LEAK_FIRST, False)


def test_a_long_scrape_has_its_own_steps():
    (found,) = heard_of(style=Style.LONG, staccato=1)
    assert "the corners first" in step(found)
    (high,) = heard_of(style=Style.LONG, third_octave=1)
    assert step(high) == "Leave the back alone; clip a little: 0.2 mm at most at a time."
    (hard,) = heard_of(style=Style.LONG, effort=5)
    assert step(hard).startswith("Take a little from the tip and test")
    (sharp,) = heard_of(tuned(25.0), style=Style.LONG, effort=4)
    assert step(sharp).startswith("Do not clip. Take a little from the sides of the heart")
    assert all("Knives" in one.caution for one in (hard, sharp))
