"""What must change no figure: the order of rows, ties split among them, a unit of time."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.term.lookback.apart import two_ears, two_people, two_tools
from lessons.term.lookback.lasting import kaplan_meier, lasting
from lessons.term.lookback.middle import middle
from lessons.term.lookback.yields import came_to_play
from tests.lessons.term.make import day, life, rated, reading, reed

shuffling = st.randoms(use_true_random=False)
lives = st.lists(st.tuples(st.integers(0, 40), st.booleans()), max_size=25)


def mixed(rows, random):
    return random.sample(rows, len(rows))


@given(lives, shuffling)
def test_lives_in_any_order(rows, random):
    told = [life(days, plays=plays) for days, plays in rows]
    assert lasting(told) == lasting(mixed(told, random))


@given(lives)
def test_an_end_just_before_a_last_sight_of_the_same_day_is_the_same_curve(rows):
    times, ended = [d for d, _ in rows], [not plays for _, plays in rows]
    split = [d if over else d + 0.5 for d, over in zip(times, ended, strict=True)]
    assert kaplan_meier(times, ended).steps == kaplan_meier(split, ended).steps


@given(lives, st.sampled_from([1 / 8, 0.5, 4.0]))
def test_lives_in_another_unit(rows, unit):
    times, ended = [d for d, _ in rows], [not plays for _, plays in rows]
    one, other = kaplan_meier(times, ended), kaplan_meier([d * unit for d in times], ended)
    assert [step[1:] for step in one.steps] == [step[1:] for step in other.steps]
    assert other.median == (None if one.median is None else one.median * unit)


@given(lives)
def test_the_curve_only_falls_inside_its_interval(rows):
    it = kaplan_meier([d for d, _ in rows], [not plays for _, plays in rows])
    shares = [1.0, *(step.share for step in it.steps)]
    assert shares == sorted(shares, reverse=True)
    assert all(step.interval.low - 1e-9 <= step.share <= step.interval.high + 1e-9 for step in it.steps)


outcomes = st.lists(
    st.tuples(st.integers(1, 9), st.sampled_from(["played", "given_up", "open"])), max_size=40
)


@given(outcomes, shuffling, st.booleans())
def test_reeds_in_any_order_and_students_by_any_number(rows, random, of_studio):
    reeds = [reed(pk, student=who, outcome=outcome) for pk, (who, outcome) in enumerate(rows)]
    renamed = [row._replace(student=100 - row.student) for row in mixed(reeds, random)]
    assert came_to_play(reeds, of_studio) == came_to_play(renamed, of_studio)


@given(outcomes, st.booleans())
def test_more_open_reeds_leave_the_share(rows, of_studio):
    reeds = [reed(pk, student=who, outcome=outcome) for pk, (who, outcome) in enumerate(rows)]
    more = [*reeds, reed(999, student=50, outcome="open")]
    assert came_to_play(reeds, of_studio).share == came_to_play(more, of_studio).share


@given(st.lists(st.integers(-50, 50), max_size=40), shuffling)
def test_a_median_in_any_order_and_unit(values, random):
    one, other = middle(values), middle([value * 4.0 for value in mixed(values, random)])
    assert one.n == other.n
    if one.median is not None:
        assert other.median == one.median * 4
    if one.interval is not None:
        assert other.interval == one.interval.times(4)


told = st.tuples(st.integers(1, 4), st.integers(0, 9), st.integers(70, 75), st.booleans())


@given(st.lists(told, max_size=30), shuffling)
def test_pairs_in_any_order(rows, random):
    readings = [
        reading(value, reed=pk, at=day(at), by_teacher=other, method="photo" if value % 2 else "ruler")
        for pk, at, value, other in rows
    ]
    for figure in (two_people, two_tools):
        assert figure(readings) == figure(mixed(readings, random))


@given(st.lists(told, max_size=30), shuffling)
def test_ratings_in_any_order(rows, random):
    ratings = [rated(v - 69, reed=pk, at=day(at), by_teacher=other) for pk, at, v, other in rows if v < 75]
    one, other = two_ears(ratings), two_ears(mixed(ratings, random))
    assert one == other


@given(lives)
def test_twice_the_same_reeds_have_the_same_curve_with_less_doubt(rows):
    times, ended = [d for d, _ in rows], [not plays for _, plays in rows]
    one, two = kaplan_meier(times, ended), kaplan_meier(times * 2, ended * 2)
    assert [step.share for step in two.steps] == pytest.approx([step.share for step in one.steps])
