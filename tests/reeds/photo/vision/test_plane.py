"""The plane of a reed that nobody measured: by the card alone, and never surer than that is."""

import json
import math

import numpy as np
import pytest

from reeds.photo.vision.camera import Frame
from reeds.photo.vision.card import MARKER_PLACES_MM, MarkersFound, marker_corners_mm
from reeds.photo.vision.card_view import Settings, solve_card
from reeds.photo.vision.flatten import PX_PER_MM, flatten, mm_to_px
from reeds.photo.vision.lengths import Clicks
from reeds.photo.vision.plane import card_plane
from reeds.photo.vision.projection import distance_mm, seen_homography, to_plane
from reeds.photo.vision.reed_plane import ReedPlane
from reeds.photo.vision.upright import UprightPicture
from tests.simulator import drawing
from tests.simulator.photo import Conditions, any_view, between, on_surface, reed_frame

COND = Conditions(megapixels=(2, 4))
CORNERS_MM = np.stack([marker_corners_mm(i) for i in MARKER_PLACES_MM])
OUTLINE_MM = np.array([[0, 0, 0], [148, 0, 0], [148, 105, 0], [0, 105, 0]], float)
LINES = [
    ("staple_foot", "tip"),
    ("thread_end", "tip"),
    ("scrape_start", "tip"),
    ("staple_foot", "thread_end"),
]


def scene(seed, printed=1.0, turned=False):
    """A reed on a card printed `printed` times too large: the card, its places as seen, its shape."""
    rng = np.random.default_rng([41, seed])
    shape = drawing.any_shape(rng)
    heights = (between(rng, COND.foot_height), between(rng, COND.tip_height))
    view, focal = any_view(rng, COND, OUTLINE_MM * 1.03, np.array([74.0, 52.5]))
    foot, along, across = reed_frame(rng, (36, 52.5), heights, shape.length)
    if turned:
        foot, along, across = [112, 52.5, foot[2]], along * [-1, -1, 1], -across
    seen = on_surface(view.place, (np.array(foot), along, across), shape.marks(), shape.over())
    flat = np.column_stack([CORNERS_MM.reshape(-1, 2) * printed, np.zeros(40)])
    pixels = (view.see(flat) + rng.normal(0, 0.08, (40, 2))).reshape(-1, 4, 2)
    frame = Frame(view.lens.width, view.lens.height)
    card = solve_card(MarkersFound(tuple(MARKER_PLACES_MM), pixels), frame, Settings(), focal)
    return card, {name: tuple(map(float, view.see(at)[0])) for name, at in seen.items()}, shape


def proposed(marks, u_px=2.0):
    return Clicks({name: marks[name] for name in ("staple_foot", "tip")}, {"staple_foot": u_px, "tip": u_px})


def plane_of(card, clicks):
    return card_plane(card.solved, card.factor, clicks)


def off(plane, marks, shape):
    """Error over the plane's own doubt of lines from place to place along the reed."""
    for start, stop in LINES:
        if start in marks:
            true = math.dist(shape.marks()[start], shape.marks()[stop])
            told = distance_mm(plane.matrix, marks[start], marks[stop])
            yield (told - true) / math.hypot(true * plane.share, plane.uneven_mm)


@pytest.mark.parametrize(("found", "turned"), [(True, False), (False, False), (False, True)])
def test_a_line_is_within_its_doubt_however_the_card_was_printed(found, turned):
    errors = []
    for seed in range(30):
        card, marks, shape = scene(seed, np.random.default_rng(seed).uniform(0.97, 1.03), turned)
        errors += off(plane_of(card, proposed(marks) if found else Clicks({})), marks, shape)
    assert np.mean(np.abs(errors) <= 2) >= 0.95
    assert 0.3 < np.sqrt(np.mean(np.square(errors))) < 1.1


def test_its_doubt_holds_what_a_printer_may_do_and_is_larger_where_no_end_was_found():
    card, marks, _shape = scene(1)
    found, bare = (
        plane_of(card, proposed(marks, 0.3)),
        plane_of(card, Clicks({})),
    )
    assert not found.clicked
    assert not bare.clicked
    assert min(found.share, bare.share) > 0.03 / math.sqrt(3)
    assert math.hypot(71 * found.share, found.uneven_mm) < math.hypot(71 * bare.share, bare.uneven_mm)
    assert found.reach[1] == pytest.approx(
        distance_mm(found.matrix, marks["staple_foot"], marks["tip"]), abs=0.3
    )


def test_its_window_is_the_blue_field_with_the_reed_in_it():
    card, marks, shape = scene(2)
    left, top, right, bottom = plane_of(card, proposed(marks)).window
    assert left < -5
    assert right > shape.length + 5
    assert top < -10 < 10 < bottom
    assert right - left == pytest.approx(94, rel=0.05)  # the field is as wide; it lies a little lower


def test_it_is_written_and_read_back_as_it_was():
    card, marks, _shape = scene(3)
    plane = plane_of(card, proposed(marks))
    again = ReedPlane.from_json(json.loads(json.dumps(plane.to_json())))
    assert again.to_json() == plane.to_json()
    assert np.allclose(again.matrix, plane.matrix, rtol=1e-7)


def test_what_the_page_lays_flat_is_what_the_flat_cut_shows():
    """A dot on the photo: where the page's matrix has it, and where the cut has it."""
    card, marks, _shape = scene(4)
    solved, heights = card.solved, (3.6, 2.25)
    points = {name: marks[name] for name in ("staple_foot", "tip")}
    matrix = seen_homography(solved.numbers, solved.frame, points, heights)
    rgb = np.zeros((solved.frame.height, solved.frame.width, 3), np.uint8)
    x, y = (round(float(v)) for v in np.mean(list(points.values()), axis=0))
    rgb[y - 2 : y + 3, x - 2 : x + 3] = 255
    cut = flatten(UprightPicture(rgb, None), solved.numbers, points, heights)
    rows, columns = np.nonzero(cut[20:-20, 80 : 80 + round(60 * PX_PER_MM), 0] > 128)
    seen = np.array([columns.mean() + 80.5, rows.mean() + 20.5])
    assert np.linalg.norm(seen - mm_to_px(*to_plane(matrix, x + 0.5, y + 0.5))) < 0.15 * PX_PER_MM
