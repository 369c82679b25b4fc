"""A card that bends: bows, of arcs or not, are corrected, waves refused, and the stated interval holds."""

from __future__ import annotations

import numpy as np
import pytest

from reeds.numbers.measured import Measured
from reeds.photo.vision.camera import Frame, project
from reeds.photo.vision.card import MARKER_PLACES_MM, MarkersFound, marker_corners_mm
from reeds.photo.vision.card_view import BENT, Settings, solve_card
from reeds.photo.vision.lengths import OVER_AXIS, Axis, Clicks
from reeds.photo.vision.paper import Paper
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.scale import CardScale, lengths_by

FRAME = Frame(1920, 1440)
PRINTED_TRUE = Measured(1.0, 0.00014)
IDS = tuple(sorted(MARKER_PLACES_MM))
PULL_PX, NOISE_PX = 0.8, 0.07
LENGTH = 71.0


def camera(rng):
    """Ten numbers of a camera 200 to 300 mm over the card, tilted by up to 15 degrees."""
    focal_35 = 26.0
    focal = focal_35 * np.sqrt(FRAME.half_diagonal * 2 / 43.267 * FRAME.width / 36)
    tilt, around = np.radians(rng.uniform(0, 15)), rng.uniform(0, 2 * np.pi)
    turn = tilt * np.array([np.cos(around), np.sin(around), 0])
    numbers = np.array([np.log(focal), 0, 0, 0, *turn, 0, 0, 0])
    middle = np.array([74, 52.5, 0.0])
    numbers[7:] = [0, 0, rng.uniform(190, 260)]
    seen = project(numbers, FRAME, middle[None])[0]
    depth = numbers[9]
    numbers[7:9] += (FRAME.centre - seen) * depth / focal
    return numbers, focal_35


def arc(flat, rise, turn):
    """Places of the card, (n, 2), on a cylinder whose middle stands `rise` mm over its edges, (n, 3)."""
    way = np.array([np.cos(turn), np.sin(turn)])
    half = 74.0
    radius = half**2 / (2 * rise)
    s = (flat - [74, 52.5]) @ way
    ahead = radius * np.sin(s / radius) - s
    return np.column_stack([flat + np.outer(ahead, way), radius * (1 - np.cos(s / radius))])


def wave(flat, high, turn):
    way = np.array([np.cos(turn), np.sin(turn)])
    return np.column_stack([flat, -high / 2 * np.sin((flat - [74, 52.5]) @ way / 74 * 2.2 * np.pi)])


def seen_markers(rng, numbers, lie):
    corners = np.stack([marker_corners_mm(i) for i in IDS])
    pixels = project(numbers, FRAME, lie(corners.reshape(-1, 2))).reshape(-1, 4, 2)
    away = pixels - pixels.mean(axis=1, keepdims=True)
    pixels = pixels - PULL_PX * away / np.linalg.norm(away, axis=2, keepdims=True)
    return MarkersFound(IDS, pixels + rng.normal(0, NOISE_PX, pixels.shape))


def seen_ends(rng, numbers, lie):
    """Foot and tip of a reed that stands on its cork, at 1 and 25 mm from its foot, as an eye sees them."""
    high = [float(lie(np.array([[36.0 + s, 52.5]]))[0, 2]) for s in (1, 25, LENGTH)]
    cork = rng.uniform(3.0, 3.4)
    lean = np.tan(np.radians(rng.uniform(0, 1.6)))
    slope = (high[1] - high[0]) / 24 + lean
    foot, tip = (high[0] - cork + slope * (s - 1) for s in (0, LENGTH))
    tip = min(tip, high[2] - 1.0)
    run = np.sqrt(LENGTH**2 - (tip - foot) ** 2)
    ends = np.array([[36, 52.5, foot - OVER_AXIS["staple_foot"]], [36 + run, 52.5, tip - OVER_AXIS["tip"]]])
    spots = project(numbers, FRAME, ends)
    return {name: tuple(map(float, spot)) for name, spot in zip(("staple_foot", "tip"), spots, strict=True)}


def measured(seed, lie):
    rng = np.random.default_rng(seed)
    numbers, focal = camera(rng)
    view = solve_card(seen_markers(rng, numbers, lie), FRAME, Settings(print_factor=PRINTED_TRUE), focal)
    points = seen_ends(rng, numbers, lie)
    clicks = Clicks(points, dict.fromkeys(points, 0.5))
    return view, lengths_by(CardScale(view), clicks, Axis())["tie_length"]


def test_a_flat_card_leaves_the_finders_noise_and_no_bend():
    view, length = measured(1, lambda flat: np.column_stack([flat, np.zeros(len(flat))]))
    assert view.solved.noise_px == pytest.approx(NOISE_PX, rel=0.35)
    assert np.abs(view.paper.bend).max() < 0.6
    assert length.value == pytest.approx(LENGTH, abs=2 * length.u)


def test_a_bow_is_found_as_high_as_it_is():
    view, _ = measured(2, lambda flat: arc(flat, -3.0, 0.0))
    # z points into the table: a middle that stands 3 mm over the edges has them 3 mm lower
    assert view.paper.bend == pytest.approx([3.0, 0.0, 0.0], abs=0.5)


def test_lengths_on_bowed_cards_are_right_and_the_interval_holds():
    errors, doubts = [], []
    for seed in range(60):
        rng = np.random.default_rng([9, seed])
        rise, turn = rng.uniform(2, 5) * rng.choice([-1, 1]), rng.choice([0, np.pi / 2]) + rng.normal(0, 0.2)
        _, length = measured(seed, lambda flat, r=rise, t=turn: arc(flat, r, t))
        errors.append(length.value - LENGTH)
        doubts.append(length.u)
    off = np.abs(errors)
    assert np.median(off) <= 0.15
    assert np.mean(off <= 2 * np.array(doubts)) >= 0.93


def test_a_corner_caught_wrongly_is_left_out_with_its_marker():
    rng = np.random.default_rng(4)
    numbers, focal = camera(rng)
    found = seen_markers(rng, numbers, lambda flat: np.column_stack([flat, np.zeros(len(flat))]))
    found.pixels[1, 1] += [2.1, 3.0]
    view = solve_card(found, FRAME, Settings(print_factor=PRINTED_TRUE), focal)
    assert view.found.ids == tuple(i for i in IDS if i != IDS[1])
    assert view.solved.noise_px == pytest.approx(NOISE_PX, rel=0.4)


def bow(flat, high, turn):
    """A bow as of paper held down at its edges: one period of a cosine over its diagonal."""
    way = np.array([np.cos(turn), np.sin(turn)])
    s = (flat - [74, 52.5]) @ way
    return np.column_stack([flat, high / 2 * (1 - np.cos(2 * np.pi * s / 185))])


def test_paper_that_bends_does_not_stretch():
    way = np.array([0.8, 0.6])
    paper = Paper(3.0 * np.array([0.64, 0.96, 0.36]), more=np.array([1.0, 3.0]), way=way)
    line = paper.middle + np.linspace(0, 70, 4001)[:, None] * way
    steps = np.diff(paper.lie(line), axis=0)
    risen = np.column_stack([np.diff(line, axis=0), steps[:, 2]])
    assert np.linalg.norm(steps, axis=1).sum() == pytest.approx(70, abs=0.005)
    assert np.linalg.norm(risen, axis=1).sum() > 70.3  # what not being drawn in would make of it


def test_bows_that_are_no_arcs_are_measured_and_the_interval_holds():
    held, noise, refused = [], [], 0
    for seed in range(40):
        rng = np.random.default_rng([11, seed])
        high, turn = rng.uniform(2, 5) * rng.choice([-1, 1]), rng.choice([0, np.pi / 2]) + rng.normal(0, 0.2)
        try:
            view, length = measured(seed, lambda flat, h=high, t=turn: bow(flat, h, t))
        except PhotoRefused:
            refused += 1
        else:
            held.append(abs(length.value - LENGTH) <= 2 * length.u)
            noise.append(view.solved.noise_px)
    assert refused <= 2
    assert np.mean(held) >= 0.93
    # a parabola alone would leave twice the finder's noise in the middle, and more
    assert np.median(noise) <= 1.5 * NOISE_PX


def test_waves_are_refused():
    said = []
    for seed in range(12):
        rng = np.random.default_rng([10, seed])
        high, turn = rng.uniform(2, 5), rng.uniform(0, np.pi)
        try:
            _, length = measured(seed, lambda flat, h=high, t=turn: wave(flat, h, t))
        except PhotoRefused as refusal:
            said.append(refusal.sentence)
        else:
            assert abs(length.value - LENGTH) <= 2.6 * length.u
    assert said == [BENT] * len(said)
    assert len(said) >= 9
