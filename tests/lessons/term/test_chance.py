"""How often chance alone would show as much, from plain numbers."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lessons.term.lookback.chance import _drawn, chance, later, orders, sittings, wider_later

ALONE = (1,) * 12


def test_sittings_are_days_that_follow_each_other():
    assert sittings([1, 1, 3, 4, 4, 4]) == (2, 1, 3)
    assert sittings([]) == ()


@given(st.lists(st.integers(1, 4), min_size=1, max_size=8))
@settings(max_examples=30)
def test_every_order_keeps_sittings_whole_and_loses_nobody(sizes):
    starts = np.cumsum([0, *sizes[:-1]])
    blocks = {tuple(range(start, start + size)) for start, size in zip(starts, sizes, strict=True)}
    for order in orders(tuple(sizes), 20):
        rest = list(order)
        while rest:
            block = next(one for one in blocks if tuple(rest[: len(one)]) == one)
            rest = rest[len(block) :]
        assert sorted(order) == list(range(sum(sizes)))


def test_the_same_sittings_give_the_same_orders():
    first = orders((1, 2, 1), 50)
    orders((1, 1, 1, 1, 1), 50)
    assert (_drawn((1, 2, 1), 50) == first).all()


def test_what_rises_is_seen_to_rise_and_what_falls_to_fall():
    assert chance([(later(range(12)), ALONE)]) == (1.0, pytest.approx(1e-4))
    assert chance([(later(range(12, 0, -1)), ALONE)])[0] == -1.0


def test_numbers_that_are_all_equal_show_nothing():
    assert chance([(later([3.0] * 12), ALONE)])[1] == 1.0
    assert chance([(wider_later(np.zeros((12, 2))), ALONE)])[1] == 1.0


def test_of_three_sittings_nothing_can_be_seen():
    assert chance([(later(range(12)), (4, 4, 4))])[1] > 0.1


def test_the_chance_is_that_of_all_orders_counted_out():
    values = [1.0, 2.0, 1.0, 3.0, 2.0, 4.0, 4.0]
    place = np.arange(7)
    ranks = np.array([1.5, 3.5, 1.5, 5.0, 3.5, 6.5, 6.5])
    seen = np.array([ranks[list(order)] @ place for order in itertools.permutations(range(7))])
    exact = float((abs(seen - seen.mean()) >= abs(ranks @ place - seen.mean()) - 1e-9).mean())
    assert chance([(later(values), (1,) * 7)])[1] == pytest.approx(exact, abs=0.012)


def test_a_hand_that_narrows_is_seen_whatever_its_aim_does():
    rng = np.random.default_rng(4)
    spread = np.geomspace(1.6, 0.15, 30)[:, None]
    steps = np.repeat([0.5, 0.0, -0.5], 10)[:, None]
    narrowing = rng.normal(0, 1, (30, 3)) * spread + steps
    way, p = chance([(wider_later(narrowing), (1,) * 30)])
    assert way == -1.0
    assert p < 0.002


def test_a_hand_that_only_moved_is_not_taken_for_one_that_spread():
    steps = np.repeat([0.0, 4.0, -3.0], 8)[:, None]
    even = np.tile([0.1, -0.1, 0.3, -0.3], 6)[:, None]
    assert chance([(wider_later(even + steps), (1,) * 24)])[1] > 0.2


def test_numbers_not_measured_show_nothing_of_their_own():
    values = np.random.default_rng(2).normal(0, 1, (20, 2))
    values[::3, 1] = np.nan
    way, p = chance([(wider_later(values), (1,) * 20)])
    assert way in (-1.0, 1.0)
    assert 0 < p <= 1


def test_students_are_added_up_and_not_mixed():
    one = (later(range(12)), ALONE)
    other = (later([value + 100 for value in range(12, 0, -1)]), ALONE)
    assert chance([one, other])[1] > 0.9
    assert chance([one, one])[1] < 0.001
