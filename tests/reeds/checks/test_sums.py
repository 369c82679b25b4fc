"""Lengths that must add up."""

import random

import pytest

from reeds.checks import sums
from reeds.checks.findings import Outcome
from reeds.numbers.measured import Measured
from reeds.numbers.words import Stage, Style
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE
from tests.reeds.checks.make import DRY, WET, at, clip, number, reed, step, words


def tied(tie, beyond=27.0, staple=45.0, **rest):
    return reed(
        number("tie_length", tie),
        number("cane_beyond_staple", beyond),
        number("staple_length", staple),
        **rest,
    )


def test_a_blank_that_adds_up_gets_no_word():
    assert sums.check(tied(72.0), SHORT_SCRAPE) == []


def test_a_student_who_misread_the_ruler_by_2_mm_is_told_which_numbers():
    (found,) = sums.check(tied(74.0), SHORT_SCRAPE)
    assert found.outcome is Outcome.CONTRADICTION
    assert (found.quantity, found.also) == ("tie_length", ("staple_length", "cane_beyond_staple"))
    assert "make 72 mm, but the tie length is given as 74 mm" in words(found)
    assert "probably misread" in step(found)
    assert not found.irreversible


@pytest.mark.parametrize(("tie", "found"), [(72.89, 0), (72.91, 1), (71.11, 0), (71.09, 1)])
def test_three_rulers_contradict_each_other_from_2_6_joint_u_on(tie, found):
    assert len(sums.check(tied(tie), SHORT_SCRAPE)) == found, "2.6 * 0.2 * sqrt(3) = 0.9007"


def test_numbers_without_doubt_may_differ_by_rounding_only():
    assert not sums.differ(Measured(0.1 + 0.2), Measured(0.3))
    assert sums.differ(Measured(72.0), Measured(72.1))


def test_a_staple_never_measured_counts_as_its_nominal_length():
    facts = reed(number("tie_length", 74.0), number("cane_beyond_staple", 27.0), staple_length=45.0)
    assert len(sums.check(facts, SHORT_SCRAPE)) == 1
    assert sums.check(reed(*facts.numbers.values(), staple_length=None), SHORT_SCRAPE) == []


def test_a_number_computed_from_the_others_contradicts_nothing():
    facts = reed(
        number("staple_length", 45.0),
        number("cane_beyond_staple", 29.0, computed_from=("tie_length", "staple_length")),
        number("tie_length", 72.0),
    )
    assert sums.check(facts, SHORT_SCRAPE) == []


def test_numbers_of_one_photo_contradict_nothing_but_those_of_two_do():
    def photos(*batches):
        keys = [("staple_length", 45.0), ("cane_beyond_staple", 27.0), ("tie_length", 74.0)]
        return reed(*(number(key, mm, batch=batch) for (key, mm), batch in zip(keys, batches, strict=True)))

    assert sums.check(photos("a", "a", "a"), SHORT_SCRAPE) == []
    assert len(sums.check(photos("a", "a", "b"), SHORT_SCRAPE)) == 1


def finished(overall, *clips, when=9):
    return reed(
        number("tie_length", 72.0),
        number("overall_length", overall, when=at(when)),
        stage=Stage.FINISHING,
        clips=clips,
    )


def test_tie_length_less_the_clips_is_the_overall_length():
    assert sums.check(finished(71.0, clip(0.8, 1), clip(0.2, 2)), SHORT_SCRAPE) == []
    (found,) = sums.check(finished(69.0, clip(0.8, 1), clip(0.2, 2)), SHORT_SCRAPE)
    assert "less 1 mm clipped makes 71 mm, but the overall length is given as 69 mm" in words(found)


def test_a_clip_made_after_the_overall_length_was_measured_does_not_count():
    assert sums.check(finished(71.0, clip(1.0, 1), clip(3.0, 12)), SHORT_SCRAPE) == []


def test_a_forgotten_clip_is_asked_for():
    (found,) = sums.check(finished(70.0), SHORT_SCRAPE)
    assert "no clip is on record" in words(found)
    assert step(found) == "Write down what was clipped, or measure again."
    (longer,) = sums.check(finished(74.0), SHORT_SCRAPE)
    assert "no clip is on record" not in words(longer), "a clip makes no reed longer"


ZONES = {"bark_length": 3.0, "back_length": 11.0, "heart_length": 5.0, "tip_length": 4.0}


def long_reed(overall=70.0, style=Style.LONG, **moved):
    zones = [number(key, mm) for key, mm in {**ZONES, **moved}.items()]
    return reed(
        number("overall_length", overall), *zones, style=style, stage=Stage.FINISHING, staple_length=47.0
    )


def test_the_zones_of_a_long_scrape_add_up_to_the_overall_length():
    assert sums.check(long_reed(), LONG_SCRAPE) == []
    (found,) = sums.check(long_reed(back_length=13.0), LONG_SCRAPE)
    assert "make 72 mm, but the overall length is given as 70 mm" in words(found)


def test_a_short_scrape_has_no_zones_to_add_up():
    assert sums.check(long_reed(back_length=13.0, style=Style.SHORT), SHORT_SCRAPE) == []


def test_wet_and_dry_in_one_sum_is_said_once_for_the_sum():
    facts = reed(
        number("tie_length", 72.0, moisture=WET),
        number("cane_beyond_staple", 27.0, moisture=DRY),
        number("staple_length", 45.0),
    )
    (found,) = sums.check(facts, SHORT_SCRAPE)
    assert found.outcome is Outcome.NOTED
    assert "tie length was measured wet and cane beyond the staple dry" in words(found).lower()


def test_honest_readings_contradict_each_other_about_once_in_a_hundred():
    """With normal errors, P(|z| > 2.6) = 0.93 %; 6000 reeds give that within 0.12 % (one deviation)."""
    draw = random.Random(20260302)  # noqa: S311  # a simulation

    def read(mm):
        return draw.gauss(mm, 0.2)

    reeds = [tied(read(72.0), read(27.0), read(45.0)) for _ in range(6000)]
    share = sum(bool(sums.check(one, SHORT_SCRAPE)) for one in reeds) / len(reeds)
    assert 0.005 < share < 0.014


def test_a_reed_that_was_tied_again_is_not_held_to_its_old_overall_length():
    tied_again = reed(
        number("tie_length", 74.0), number("overall_length", 70.0, when=at(1)), stage=Stage.TIED
    )
    assert sums.check(tied_again, SHORT_SCRAPE) == []
