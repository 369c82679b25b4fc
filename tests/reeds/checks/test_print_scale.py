"""All lengths of a photo longer or shorter by one factor: the printed card is suspected, and only then."""

import pytest

from reeds.checks import print_scale
from reeds.checks.findings import Outcome, spread
from reeds.checks.newest import newest, others
from reeds.checks.print_scale import common_factor
from reeds.checks.registry import run_checks
from reeds.numbers.measured import Measured
from reeds.numbers.words import Method, Stage
from reeds.sheet.starters import SHORT_SCRAPE
from tests.reeds.checks.make import at, number, reed, step, words

STAPLE = 47.0


def facts_of(*readings, **rest):
    facts = reed(stage=Stage.BOUND, staple_length=STAPLE, **rest)
    return type(facts)(**{**vars(facts), "numbers": newest(readings), "others": others(readings)})


def by_hand(key, mm, method=Method.CALIPER, u=0.05, stage=Stage.BOUND):
    return number(key, mm, u, method=method, when=at(1), stage=stage)


def by_photo(key, mm, u=1.3, batch="photo 1", stage=Stage.BOUND, **rest):
    return number(key, mm, u, method=Method.PHOTO, when=at(2), stage=stage, batch=batch, **rest)


def measured_by(factor, **rest):
    """Tie, staple and thread by caliper; tie and thread by a photo, `factor` times as long."""
    return (
        by_hand("tie_length", 72.0),
        by_hand("staple_length", STAPLE),
        by_hand("thread_past_staple", 0.2),
        by_photo("tie_length", 72.0 * factor, **rest),
        by_photo("thread_past_staple", 47.2 * factor - STAPLE, computed_from=("staple_length",), **rest),
    )


@pytest.mark.parametrize(
    ("factor", "said"), [(1 / 0.97, "longer by the same 3.1 %"), (0.98, "shorter by the same 2 %")]
)
def test_tie_and_thread_off_by_one_factor_point_at_the_print(factor, said):
    (found,) = print_scale.check(facts_of(*measured_by(factor)), SHORT_SCRAPE)
    assert found.outcome is Outcome.CONTRADICTION
    assert said in words(found)
    assert {found.quantity, *found.also} == {"tie_length", "thread_past_staple"}
    assert "100 mm bar" in step(found)
    assert not found.irreversible


def test_it_is_told_once_with_all_that_comes_of_it_under_it():
    """With the doubt of a measured bar both lengths contradict the caliper's: one cause, one finding."""
    found = run_checks(facts_of(*measured_by(1.03, u=0.15)), SHORT_SCRAPE)
    heads = [one for one in found if one.needs_attention and one.outcome is not Outcome.MISSING]
    assert [one.check for one in heads] == [print_scale.KEY]
    assert "twice" in {one.check for one in spread(found)}


@pytest.mark.parametrize(
    "readings",
    [
        measured_by(1.004),
        (by_hand("tie_length", 72.0), by_photo("tie_length", 74.2)),
        (*measured_by(1.03)[:4], by_photo("thread_past_staple", 0.2, computed_from=("staple_length",))),
        (*measured_by(1.03)[:4], measured_by(1.03, batch="photo 2")[4]),
        (*measured_by(1.03)[:3], *measured_by(1.03, stage=Stage.TIED)[3:]),
    ],
    ids=["hardly", "one length", "only one of two", "two photos", "another stage"],
)
def test_what_is_no_common_factor_is_not_told(readings):
    assert print_scale.check(facts_of(*readings), SHORT_SCRAPE) == []


def test_the_common_factor_is_the_mean_weighted_by_its_doubt():
    """Own arithmetic: 1.02 and 1.04 with u 0.001 and 0.01: (1.02e6 + 1.04e4) / 1.01e6 = 1.020198."""
    found = common_factor([Measured(1.02, 0.001), Measured(1.04, 0.01)])
    assert found.value == pytest.approx(1.020198, abs=1e-6)
    assert found.u == pytest.approx(1 / 1.01e6**0.5)
    assert common_factor([Measured(1.02, 0.001), Measured(0.98, 0.02)]) is None
