"""Yield, medians, how long reeds play, agreement, work: what they count, and what they leave unsaid."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from lessons.term.lookback.apart import apart, two_ears, two_people, two_tools
from lessons.term.lookback.figures import answers, inside, work_done
from lessons.term.lookback.lasting import kaplan_meier, lasting
from lessons.term.lookback.middle import middle
from lessons.term.lookback.rows import Wait, WorkInTerm
from lessons.term.lookback.yields import came_to_play, resampled
from tests.lessons.term.make import NOON, day, life, rated, reading, reed


def reeds(*outcomes, student=1):
    return [reed(pk, outcome=outcome, student=student) for pk, outcome in enumerate(outcomes, 1)]


# --- yield ----------------------------------------------------------------------------------------


def test_open_reeds_stand_apart():
    it = came_to_play(reeds("played", "given_up", "open", "played", "open"))
    assert (it.share.count, it.share.n, it.open, it.by_students) == (2, 3, 2, False)


def test_of_no_reed_nothing_is_said():
    it = came_to_play([], of_studio=True)
    assert (it.share.n, it.share.value, it.open, it.students) == (0, None, 0, 0)


def test_one_reed_has_the_widest_interval():
    it = came_to_play(reeds("played"))
    assert it.share.value == 1
    assert it.share.low < 0.3


def studio(shares, each=20):
    return [
        reed(1000 * who + k, student=who, outcome="played" if k < round(share * each) else "given_up")
        for who, share in enumerate(shares)
        for k in range(each)
    ]


def test_students_who_differ_widen_the_studios_interval():
    alike, apart_ = (came_to_play(studio(shares), of_studio=True) for shares in ([0.5] * 8, [0.1, 0.9] * 4))
    assert alike.share.value == apart_.share.value == 0.5
    assert apart_.share.high - apart_.share.low > 1.5 * (alike.share.high - alike.share.low)


def test_students_who_happen_to_be_alike_leave_wilsons_doubt():
    whole = studio([1.0] * 6, each=3)
    it = came_to_play(whole, of_studio=True)
    assert it.by_students
    assert it.share.low == pytest.approx(came_to_play(whole).share.low)


def test_of_few_students_the_reeds_are_counted_as_they_are():
    few = studio([0.2, 0.8, 0.5])
    assert came_to_play(few, of_studio=True).share == came_to_play(few).share
    assert not came_to_play(few, of_studio=True).by_students


def test_one_students_reeds_are_not_drawn_anew():
    assert not came_to_play(studio([0.2, 0.8] * 4)).by_students


def test_nobody_cannot_be_drawn():
    with pytest.raises(ValueError, match="somebody to draw"):
        resampled([])


def test_the_studios_interval_holds_the_truth_nearly_as_often_as_it_says():
    """Twelve students who differ (beta, SD 0.2), 3 to 12 reeds each, 600 studios: 91 % at least."""
    rng, held = np.random.default_rng(12), 0
    for _ in range(600):
        own, many = rng.beta(2.5, 2.5, 12), rng.integers(3, 13, 12)
        rows = [
            reed(k, student=who, outcome="played" if lucky else "given_up")
            for who in range(12)
            for k, lucky in enumerate(rng.random(many[who]) < own[who])
        ]
        it = came_to_play(rows, of_studio=True).share
        held += it.low <= 0.5 <= it.high
    assert held / 600 >= 0.91


# --- medians --------------------------------------------------------------------------------------


def test_six_numbers_are_the_fewest_with_an_interval():
    assert middle([1, 2, 3, 4, 5]).interval is None
    assert middle([1, 2, 3, 4, 5, 6]).interval == (1, 6)


def test_no_numbers_and_equal_numbers():
    assert middle([]).median is None
    assert middle([3.0] * 9).interval == (3.0, 3.0)


def test_only_finite_numbers_have_a_median():
    with pytest.raises(ValueError, match="finite"):
        middle([1.0, float("inf")])


def test_the_median_lies_within_its_interval_as_often_as_it_says():
    rng = np.random.default_rng(3)
    found = [middle(sample).interval for sample in rng.exponential(1, (2000, 15))]
    held = sum(low <= np.log(2) <= high for low, high in found) / 2000
    assert held == pytest.approx(0.965, abs=0.015)  # 4th to 12th of 15: 0.9648 exactly


# --- how long they play ---------------------------------------------------------------------------


def test_a_reed_that_still_plays_counts_until_it_was_last_seen():
    it = lasting([life(10), life(30, plays=True), life(20), life(5, plays=True)])
    assert [(step.day, step.at_risk) for step in it.steps] == [(10, 3), (20, 2)]
    assert [step.share for step in it.steps] == pytest.approx([2 / 3, 1 / 3])
    assert (it.n, it.ended, it.median, it.seen_until) == (4, 2, 20, 30)


def test_where_too_many_still_play_the_median_is_not_reached():
    it = lasting([life(10), *[life(30, plays=True)] * 4])
    assert (it.median, it.low, it.high) == (None, 10, None)  # of five, half last ten days at least


def test_no_reed_and_one_reed():
    assert (lasting([]).n, lasting([]).steps, lasting([]).median) == (0, (), None)
    (step,) = lasting([life(7)]).steps
    assert step.share == 0
    assert step.interval == pytest.approx((0, 0.793), abs=0.001)  # Wilson's for none of one


def test_a_reed_given_up_on_the_day_it_came_to_play_counts():
    assert lasting([life(0), life(9)]).steps[0].day == 0


def test_all_equal_lives_end_on_one_day():
    (step,) = lasting([life(12)] * 8).steps
    assert (step.ended, step.at_risk, step.share) == (8, 8, 0)
    assert step.interval.high < 0.5  # of eight that ended together it is told that half end by then
    assert (lasting([life(12)] * 8).median, lasting([life(12)] * 8).high) == (12, 12)


@pytest.mark.parametrize(("times", "ended"), [([-1], [True]), ([float("nan")], [True]), ([1, 2], [True])])
def test_a_life_that_cannot_be_is_refused(times, ended):
    with pytest.raises(ValueError, match="not negative"):
        kaplan_meier(times, ended)


# --- two readings of a reed -----------------------------------------------------------------------


def both(pk, first, second, **given):
    return [reading(first, reed=pk), reading(second, reed=pk, at=day(1), **given)]


def test_player_and_teacher_are_set_against_each_other():
    rows = [row for pk in range(1, 7) for row in both(pk, 72.0, 72.0 + pk / 10, by_teacher=True)]
    it = two_people(rows)
    assert (it.n, round(it.bias, 6)) == (6, 0.35)
    assert it.limits.low < it.bias_interval.low < it.bias < it.bias_interval.high < it.limits.high
    assert two_tools(rows).n == 0


def test_ruler_and_photo_are_set_against_each_other():
    rows = [row for pk in range(1, 6) for row in both(pk, 72.0, 72.2, method="photo")]
    assert (two_tools(rows).n, round(two_tools(rows).bias, 6)) == (5, 0.2)
    assert two_people(rows).n == 0


@pytest.mark.parametrize(
    "unlike",
    [
        {"stage": "finishing", "by_teacher": True},
        {"method": "caliper", "by_teacher": True},
        {"at": day(8), "by_teacher": True},
        {"by_teacher": False},
    ],
)
def test_only_what_is_alike_is_set_against_each_other(unlike):
    rows = [row for pk in range(1, 7) for row in (reading(72, reed=pk), reading(73, reed=pk, **unlike))]
    assert two_people(rows).n == 0


def test_a_reed_counts_once_with_the_two_closest_in_time():
    rows = [reading(70, at=day(0)), reading(72, at=day(4)), reading(72.5, at=day(5), by_teacher=True)]
    rows += [reading(74, at=day(11), by_teacher=True)]
    several = [row for pk in range(1, 6) for row in (r._replace(reed=pk) for r in rows)]
    assert (two_people(several).n, two_people(several).bias) == (5, 0.5)


def test_four_pairs_say_nothing():
    it = apart([0.1, 0.2, 0.3, 0.4])
    assert (it.n, it.bias, it.limits) == (4, None, None)
    assert apart([]).n == 0


def test_two_that_always_differ_by_the_same_have_no_width():
    it = apart([0.5] * 6)
    assert (it.bias, it.sd, it.limits) == (0.5, 0, (0.5, 0.5))


def test_what_is_not_finite_is_refused():
    with pytest.raises(ValueError, match="finite"):
        apart([float("nan")] * 6)


def test_ratings_of_two_people_are_the_same_or_a_step_apart():
    given = [(4, 4), (4, 5), (2, 4), (3, 3), (5, 4), (1, 1)]
    rows = [
        rated(speaks, reed=pk, by_teacher=teacher)
        for pk, both_ in enumerate(given)
        for teacher, speaks in enumerate(both_)
    ]
    it = two_ears([*rows, rated(None, reed=99), rated(5, reed=98, item="staccato")])
    assert list(it) == ["crow"]
    assert (it["crow"].same.count, it["crow"].within_one.count, it["crow"].same.n) == (3, 5, 6)
    assert it["crow"].apart.bias == pytest.approx(1 / 3)


# --- counted --------------------------------------------------------------------------------------


def test_days_to_an_answer_have_a_median_with_its_interval():
    it = answers([Wait(1, NOON, day(d)) for d in (1, 2, 3, 4, 5, 9)] + [Wait(1, NOON, None)])
    assert (it.middle.n, it.middle.median, it.middle.interval, it.waiting) == (6, 3.5, (1, 9), 1)


def work(due=None, done=None):
    return WorkInTerm(1, NOON, due, done)


def test_work_counts_from_the_day_after_it_was_due():
    today = NOON.date()
    yesterday = today - dt.timedelta(days=1)
    late, in_time, never = work(yesterday, day(0)), work(yesterday, day(-1)), work(yesterday)
    it = work_done([late, in_time, never, work(today), work(), work(None, NOON)], today)
    assert (it.done.count, it.in_time.count, it.done.n) == (2, 1, 3)
    assert (it.not_due, it.without_day) == (1, 2)
    assert work_done([], today).done.n == 0


def test_only_what_has_a_limit_can_lie_inside():
    rows = [reading(72), reading(73.5), reading(9, low=8, aim=None, high=None)]
    assert inside([*rows, reading(1, low=None, aim=None, high=None)]) == (2, 3)
