"""Outlines that no opening has are refused: a bump, a bent strip, a gap that ends at one corner only."""

from __future__ import annotations

import numpy as np
import pytest

from reeds.photo.vision.gap import find_outline
from reeds.photo.vision.lips import UNLIKE_LIPS, refuse_what_is_no_gap
from reeds.photo.vision.opening import Outline
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.upright import UprightPicture
from tests.simulator.opening import opening_photo

WIDTH, HEIGHT = 600.0, 70.0


def lens(upper=lambda x: x, lower=lambda x: x, start=0.06, stop=0.94):
    """An outline whose edges are changed by functions of (share along, mm as found) over a lens's own."""
    x = np.linspace(start, stop, 120)
    bow = HEIGHT / 2 * (1 - ((x - (start + stop) / 2) / ((stop - start) / 2)) ** 2)
    place = 100 + WIDTH * x
    return Outline(
        np.array([100.0, 200.0]),
        np.array([100.0 + WIDTH, 200.0]),
        np.column_stack([place, 200 - upper(bow)]),
        np.column_stack([place, 200 + lower(bow)]),
    )


def test_a_lens_passes_and_so_does_one_with_a_flat_upper_edge():
    refuse_what_is_no_gap(lens())
    refuse_what_is_no_gap(lens(upper=lambda bow: 0.05 * bow, lower=lambda bow: 1.9 * bow))


def bump(bow):
    """Something bright inside lifts the edge."""
    out = bow.copy()
    out[40:60] -= 0.6 * HEIGHT / 2
    return out


@pytest.mark.parametrize(
    "outline",
    [
        lens(lower=bump),
        lens(upper=lambda bow: 1.9 * bow, lower=lambda bow: 0.4 * HEIGHT - 0.9 * bow),
        lens(start=0.03, stop=0.8),
        lens(upper=lambda bow: bow + 8 * np.sin(np.arange(len(bow)))),
    ],
    ids=["a bump", "a bent strip", "lopsided", "ragged"],
)
def test_what_no_reed_has_is_refused(outline):
    with pytest.raises(PhotoRefused) as refusal:
        refuse_what_is_no_gap(outline)
    assert refusal.value.sentence == UNLIKE_LIPS


def test_simulated_openings_are_not_refused_for_their_shape():
    for seed in range(4):
        find_outline(UprightPicture(opening_photo(np.random.default_rng([77, seed])).rgb))
