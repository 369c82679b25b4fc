"""Two ways or two people: numbers of one thing that cannot both be right."""

import pytest

from reeds.checks import twice
from reeds.checks.findings import Outcome
from reeds.checks.newest import newest, others
from reeds.checks.registry import run_checks
from reeds.numbers.words import Method, Stage
from reeds.sheet.starters import SHORT_SCRAPE
from tests.reeds.checks.make import DRY, WET, at, clip, number, reed, step, words


def facts_of(*readings, stage=Stage.TIED, **rest):
    facts = reed(stage=stage, **rest)
    return type(facts)(**{**vars(facts), "numbers": newest(readings), "others": others(readings)})


def tie(mm, hours, method=Method.RULER, u=0.2, **rest):
    return number("tie_length", mm, u, method=method, when=at(hours), stage=Stage.TIED, **rest)


def test_ruler_and_photo_of_one_day_that_cannot_both_be_right_are_told():
    facts = facts_of(tie(72.5, 1), tie(70.9, 3, Method.PHOTO, 0.15))
    (found,) = twice.check(facts, SHORT_SCRAPE)
    assert found.outcome is Outcome.CONTRADICTION
    assert words(found) == (
        "Tie length: 70.9 mm (photo) and 72.5 mm (ruler) cannot both be right. The newer is used: 70.9 mm."
    )
    assert "once more" in step(found)


def test_by_ear_and_recorded():
    by_ear = number("a4_cents", -7.0, 3.0, method=Method.EYE, when=at(1), stage=Stage.PLAYING)
    recorded = number("a4_cents", -16.5, 1.0, method=Method.RECORDING, when=at(2), stage=Stage.PLAYING)
    (found,) = twice.check(facts_of(by_ear, recorded, stage=Stage.PLAYING), SHORT_SCRAPE)
    assert "-16 cents (recording) and -7 cents (by eye or ear)" in words(found)


def test_student_and_teacher_with_one_tool():
    facts = facts_of(tie(72.5, 1), tie(71.0, 200, by_teacher=True))
    (found,) = twice.check(facts, SHORT_SCRAPE)
    assert words(found).startswith("Tie length: student and teacher read 71 mm (ruler) and 72.5 mm (ruler)")


@pytest.mark.parametrize(("mm", "found"), [(72.60, 0), (72.70, 1)])
def test_from_2_6_joint_u_on(mm, found):
    """2.6 * sqrt(0.2^2 + 0.15^2) = 0.65 mm (own arithmetic)."""
    assert len(twice.check(facts_of(tie(72.0, 1), tie(mm, 3, Method.PHOTO, 0.15)), SHORT_SCRAPE)) == found


def test_who_measures_again_in_the_same_way_has_put_it_right():
    assert twice.check(facts_of(tie(75.0, 1), tie(72.0, 2)), SHORT_SCRAPE) == []


def test_wet_and_dry_computed_and_another_stage_are_another_thing():
    photo = {"method": Method.PHOTO, "u": 0.1}
    assert (
        twice.check(facts_of(tie(72.5, 1, moisture=WET), tie(70.9, 3, moisture=DRY, **photo)), SHORT_SCRAPE)
        == []
    )
    computed = tie(70.9, 3, computed_from=("gouge",), **photo)
    assert twice.check(facts_of(tie(72.5, 1), computed), SHORT_SCRAPE) == []
    bound = number("tie_length", 70.9, 0.1, method=Method.PHOTO, when=at(3), stage=Stage.BOUND)
    assert twice.check(facts_of(tie(72.5, 1), bound), SHORT_SCRAPE) == []


def overall(mm, hours, method):
    return number("overall_length", mm, 0.1, method=method, when=at(hours), stage=Stage.PLAYING)


def test_what_was_clipped_between_the_two_is_taken_off():
    both = [overall(72.0, 1, Method.CALIPER), overall(71.0, 5, Method.PHOTO)]
    assert len(twice.check(facts_of(*both, stage=Stage.PLAYING), SHORT_SCRAPE)) == 1
    clipped = facts_of(*both, stage=Stage.PLAYING, clips=(clip(1.0, 3, 0.05),))
    assert twice.check(clipped, SHORT_SCRAPE) == []


def test_what_changes_in_playing_is_compared_within_a_day_only():
    later = [overall(72.0, 1, Method.CALIPER), overall(71.0, 99, Method.PHOTO)]
    assert twice.check(facts_of(*later, stage=Stage.PLAYING), SHORT_SCRAPE) == []


def test_the_limits_of_a_number_in_doubt_are_told_under_it():
    found = run_checks(facts_of(tie(72.0, 1), tie(75.0, 3, Method.PHOTO)), SHORT_SCRAPE)
    (two,) = [one for one in found if one.check == twice.KEY]
    assert ("tie_length", Outcome.ABOVE) in [(one.quantity, one.outcome) for one in two.parts]
    assert not any(one.check == "limits" and one.quantity == "tie_length" for one in found)
