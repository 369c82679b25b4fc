"""Drawing lots, counting questions, and how many reeds it would take."""

import time
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.comparison.inference.enough import Leaning, Paired, Shares, Shifted, enough, power
from lessons.comparison.inference.lots import BLOCK, lots
from lessons.comparison.inference.several import holm


@given(st.integers(0, 60), st.integers(0, 2**40), st.integers(0, 10**6))
def test_both_come_equally_often_in_every_block(places, seed, student):
    drawn = lots(places, seed, student)
    assert len(drawn) == places
    for start in range(0, places, BLOCK):
        counts = Counter(drawn[start : start + BLOCK])
        assert abs(counts[0] - counts[1]) == len(drawn[start : start + BLOCK]) % 2


def test_the_same_seed_draws_the_same_and_each_student_has_a_draw_of_their_own():
    assert lots(40, 5, 1) == lots(40, 5, 1)
    assert lots(40, 5, 1) != lots(40, 5, 2)
    assert lots(40, 5, 1) != lots(40, 6, 1)


def test_every_place_gets_either_equally_often():
    first = sum(lots(4, seed, 1)[0] for seed in range(2000))
    assert first == pytest.approx(1000, abs=110)


@pytest.mark.parametrize(("places", "block"), [(4, 3), (4, 0), (-1, 4)])
def test_what_cannot_be_balanced_is_refused(places, block):
    with pytest.raises(ValueError, match="even"):
        lots(places, 1, 1, block)


@given(st.lists(st.floats(0, 1), max_size=12))
def test_holm_never_lowers_a_p_and_keeps_their_order(ps):
    adjusted = holm(ps)
    assert all(p <= a <= 1 for p, a in zip(ps, adjusted, strict=True))
    ranked = [a for _p, a in sorted(zip(ps, adjusted, strict=True))]
    assert ranked == sorted(ranked)


@pytest.mark.parametrize("world", [Shares(0.5, 0.3), Shifted(0.8), Paired(0.7), Leaning(0.6, 0.75)])
@pytest.mark.parametrize("strata", [1, 6, 12])
def test_so_many_reeds_as_are_named_do_tell(world, strata):
    reeds = enough(world, strata)
    assert reeds is not None
    assert reeds % strata == 0
    assert power(world, strata, reeds // strata) >= 0.8


def test_the_formula_for_two_shares_asks_for_about_as_many():
    """0.65 against 0.35 with 80 % power: 42 of each by the usual normal formula (Fleiss), 84 in all."""
    assert enough(Shares(0.5, 0.3), 1) == pytest.approx(84, abs=14)


def test_more_questions_need_more_reeds_and_what_is_too_small_has_no_answer():
    one, five = enough(Shares(0.5, 0.3), 6), enough(Shares(0.5, 0.3), 6, 0.01)
    assert one is not None
    assert five is not None
    assert five > one
    assert enough(Shares(0.5, 0.02), 6) is None


def test_nothing_to_see_is_seen_as_often_as_the_level_says():
    assert power(Shares(0.5, 0.0), 6, 8) <= 0.07


def test_it_takes_less_than_a_second_each():
    enough(Shifted(0.5), 1)  # the import of scipy
    began = time.process_time()
    for world in (Shares(0.5, 0.05), Shifted(0.1), Paired(0.53), Leaning(0.5, 0.53)):
        enough(world, 4)
    assert time.process_time() - began < 3
