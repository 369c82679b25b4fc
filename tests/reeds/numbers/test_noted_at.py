"""What may be noted at the bench, stage by stage."""

import pytest

from reeds.numbers.registry import QUANTITIES, REGISTRY
from reeds.numbers.words import Stage, Style


def keys(stage, style):
    return [quantity.key for quantity in REGISTRY.noted_at(stage, style)]


def test_the_short_scrape_is_asked_in_the_order_of_work():
    assert keys(Stage.SHAPED, Style.SHORT) == ["fold_cut", "edges"]
    assert keys(Stage.TIED, Style.SHORT) == [
        "blades_lie",
        "tied_straight",
        "thread_force",
        "wire_turns",
        "wire_place",
        "wire_twist",
    ]
    assert keys(Stage.BOUND, Style.SHORT) == ["waxed_knotted", "wire_off"]
    assert keys(Stage.SCRAPED, Style.SHORT) == ["bark_line", "grain_lines", "sounds"]
    assert keys(Stage.FINISHING, Style.SHORT) == ["corners", "tip_middle"]


def test_the_long_scrape_is_not_asked_for_what_only_the_short_one_has():
    assert keys(Stage.TIED, Style.LONG) == ["blades_lie", "tied_straight", "thread_force"]
    assert keys(Stage.SCRAPED, Style.LONG) == []


def test_of_another_scrape_all_of_it_may_be_noted():
    for stage in Stage:
        assert set(keys(stage, Style.OTHER)) >= set(keys(stage, Style.SHORT))


@pytest.mark.parametrize("stage", Stage)
def test_it_stands_beside_the_numbers_and_takes_no_place_among_them(stage):
    assert not any(quantity.at_bench for quantity in REGISTRY.asked_at(stage))
    assert not any(quantity.at_bench for quantity in REGISTRY.asked_at(stage, QUANTITIES))


def test_every_choice_is_short_enough_to_be_stored_and_to_be_tapped():
    for quantity in QUANTITIES.values():
        if quantity.at_bench:
            assert all(len(value) <= 20 and len(label.split()) <= 5 for value, label in quantity.choices)
