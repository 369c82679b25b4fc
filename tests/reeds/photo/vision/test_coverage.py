"""The stated interval holds as many truths as it says: simulated corners and clicks, no pixels, fixed seeds.

`make accuracy` scores the same over hundreds of whole photos; here few and quick, wide enough not to flicker.
"""

import numpy as np
import pytest

from reeds.numbers.measured import Measured
from reeds.photo.vision.camera import Frame
from reeds.photo.vision.card import MARKER_PLACES_MM, MarkersFound, marker_corners_mm
from reeds.photo.vision.card_view import Settings, solve_card
from reeds.photo.vision.lengths import U_PRINT_FACTOR, U_STATED_HEIGHT_MM, Axis, Clicks, places, plain_lengths
from reeds.photo.vision.ruler import KnownLength, is_beside, level_camera
from reeds.photo.vision.scale import CardScale, Id1Scale, RulerScale, lengths_by
from tests.simulator import drawing
from tests.simulator.beside import scene
from tests.simulator.photo import Conditions, any_view, between, on_surface, reed_frame

CORNERS_MM = np.stack([marker_corners_mm(i) for i in MARKER_PLACES_MM])
OUTLINE_MM = np.array([[0, 0, 0], [148, 0, 0], [148, 105, 0], [0, 105, 0]], float)
COND = Conditions(megapixels=(2, 4))


def clicked(marks, rng, noise):
    return {k: tuple(map(float, p + (rng.normal(0, noise, 2) if noise else 0))) for k, p in marks.items()}


def axis_of(heights):
    return Axis(*(Measured(h, U_STATED_HEIGHT_MM) for h in heights))


def on_card(rng, focal_known, noise):
    """Error over u of one tie length; corners with 0.08 px of noise stand in for a photo's markers."""
    shape = drawing.any_shape(rng)
    heights = (between(rng, COND.foot_height), between(rng, COND.tip_height))
    view, focal_35 = any_view(rng, COND, OUTLINE_MM, np.array([74.0, 52.5]))
    frame = reed_frame(rng, (36, 52.5), heights, shape.length)
    marks = {
        k: view.see(place)[0]
        for k, place in on_surface(view.place, frame, shape.marks(), shape.over()).items()
    }
    flat = np.column_stack([CORNERS_MM.reshape(-1, 2), np.zeros(40)])
    pixels = (view.see(flat) + rng.normal(0, 0.08, (40, 2))).reshape(-1, 4, 2)
    settings = Settings(axis_of(heights), Measured(1.0, U_PRINT_FACTOR))
    frame = Frame(view.lens.width, view.lens.height)
    found = MarkersFound(tuple(MARKER_PLACES_MM), pixels)
    solved = solve_card(found, frame, settings, focal_35 if focal_known else None)
    tie = lengths_by(CardScale(solved), Clicks(clicked(marks, rng, noise)), settings.axis)["tie_length"]
    return (tie.value - shape.length) / tie.u


def beside(rng, card, cond):
    s = scene(rng, cond, card=card, click_px=0.5, off=(5, 15), shift=5)
    frame, clicks = Frame(s.view.lens.width, s.view.lens.height), Clicks(clicked(s.marks, rng, 0))
    if card:
        found = lengths_by(Id1Scale(s.reference.tolist(), frame, s.focal_35mm), clicks, axis_of(s.heights))
    else:
        known = KnownLength(s.span, *s.reference)
        found = lengths_by(RulerScale(known, frame, s.focal_35mm), clicks, axis_of(s.heights))
    return (found["tie_length"].value - s.lengths["tie_length"]) / found["tie_length"].u


def held(one, count, *given):
    off = np.array([one(np.random.default_rng([31, i]), *given) for i in range(count)])
    return float((np.abs(off) <= 2).mean()), float(np.sqrt(np.mean(off**2)))


@pytest.mark.parametrize(
    ("focal_known", "noise", "least"), [(True, 0.0, 0.3), (False, 0.0, 0.3), (True, 0.7, 0.65)]
)
def test_interval_on_the_card_holds_what_it_says(focal_known, noise, least):
    share, spread = held(on_card, 60, focal_known, noise)
    assert share >= 0.90
    # of errors in units of u: neither boasting nor hiding; without clicks what is stated for the height
    # and the print is there in u and not in the truth
    assert least < spread < 1.25


@pytest.mark.parametrize("card", [True, False])
def test_interval_beside_a_card_or_ruler_holds_what_it_says_in_any_pose(card):
    share, spread = held(beside, 50, card, Conditions())
    assert share >= 0.90
    assert 0.5 < spread < 1.25


def test_a_ruler_beside_the_reed_is_right_to_half_a_millimetre_from_a_level_camera():
    """Where it does not lie beside the reed the card is asked for (test_scale), and no bound is claimed."""
    level, off = Conditions(tilt=(0, 10), distance=(250, 400)), []
    for i in range(300):
        s = scene(np.random.default_rng([32, i]), level, click_px=0, off=(5, 15), shift=5)
        frame, clicks = Frame(s.view.lens.width, s.view.lens.height), Clicks(clicked(s.marks, None, 0))
        known = KnownLength(s.span, *s.reference)
        if is_beside(known, clicks.points):
            numbers = level_camera(known, frame, s.focal_35mm)
            found = plain_lengths(places(numbers, frame, clicks.points, s.heights))
            off.append(abs(found["tie_length"] - s.lengths["tie_length"]))
    assert len(off) > 80
    assert np.percentile(off, 95) <= 0.6
