"""The matrices along the reed, the flat cut, and the cases that hold Python and JavaScript to one sum."""

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

from reeds.photo.vision.camera import Frame, project
from reeds.photo.vision.card_view import Settings, view_card
from reeds.photo.vision.decode import read_picture
from reeds.photo.vision.flatten import PX_PER_MM, WINDOW, flatten, mm_to_px
from reeds.photo.vision.lengths import LENGTHS, OVER_AXIS, Axis, places, plain_lengths
from reeds.photo.vision.projection import distance_mm, landmark_matrices, seen_homography, to_plane
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.upright import UprightPicture
from tests.printed import card_picture
from tests.simulator.photo import Conditions, card_photo

FILE = json.loads((Path(__file__).parents[3] / "data" / "projection_cases.json").read_text())


@pytest.mark.parametrize("case", FILE["cases"], ids=lambda case: case["name"])
def test_python_agrees_with_the_cases(case):
    matrix, other = np.array(case["matrix"]), np.array(case.get("other", case["matrix"]))
    for by, pixel, mm in ((matrix, "start", "start_mm"), (other, "stop", "stop_mm")):
        assert to_plane(by, *case[pixel]) == pytest.approx(case[mm], abs=FILE["tolerance_mm"])
    found = distance_mm(matrix, tuple(case["start"]), tuple(case["stop"]), other)
    assert found == pytest.approx(case["distance_mm"], abs=FILE["tolerance_mm"])


def a_photo(seed, **given):
    rng = np.random.default_rng(seed)
    return card_photo(rng, card_picture(), (148, 105), (36, 52.5), Conditions(megapixels=(2, 3), **given))


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_matrices_give_the_lengths_of_the_full_camera_to_a_few_hundredths(seed):
    """Lens distortion of up to 0.5 % at the corner is what a matrix can hold only along the reed."""
    photo = a_photo(seed)
    axis = Axis()
    heights = (axis.foot.value, axis.tip.value)
    view = view_card(read_picture(photo.jpeg()), Settings(focal_35mm=photo.focal_35mm))
    points = {name: (float(p[0]), float(p[1])) for name, p in photo.marks.items()}
    numbers, frame = view.solved.numbers, view.solved.frame
    matrices = landmark_matrices(numbers, frame, points, heights)
    exact = plain_lengths(places(numbers, frame, points, heights))
    assert {"tie_length", "scrape_length", "tip_width"} <= set(exact)
    for name, value in exact.items():
        a, b = LENGTHS[name]
        live = distance_mm(matrices[a], points[a], points[b], matrices[b])
        assert live == pytest.approx(value, abs=0.02), name
    assert to_plane(matrices["staple_foot"], *points["staple_foot"]) == pytest.approx((0, 0), abs=0.02)


def test_matrix_without_foot_and_tip_is_that_of_the_whole_picture():
    frame = Frame(800, 600)
    numbers = np.array([np.log(800), 0, 0, 0, 0, 0, 0, -74, -52, 300.0])
    matrix = landmark_matrices(numbers, frame, {"tip_left": (10.0, 20.0)}, (3.0, 1.0))["tip_left"]
    mm = 298 / 800
    assert distance_mm(matrix, (100, 100), (500, 100)) == pytest.approx(400 * mm, rel=1e-6)


@pytest.mark.parametrize("seed", [5, 6])
def test_flat_cut_has_the_reed_at_true_scale_with_its_foot_in_one_place(seed):
    photo = a_photo(seed, shadow=(0, 0), turn=10)
    picture = read_picture(photo.jpeg())
    axis = Axis()
    heights = (axis.foot.value, axis.tip.value)
    view = view_card(picture, Settings(focal_35mm=photo.focal_35mm))
    points = {name: (float(p[0]), float(p[1])) for name, p in photo.marks.items()}
    # a picture with a white dot at each landmark: where the dots land says what the cut does
    dots = np.zeros_like(picture.rgb)
    for x, y in points.values():
        dots[int(y) - 1 : int(y) + 2, int(x) - 1 : int(x) + 2] = 255
    flat = flatten(UprightPicture(dots), view.solved.numbers, points, heights)
    width, height = WINDOW.size
    assert flat.shape == (height, width, 3)
    length = photo.lengths["tie_length"]
    for along, name in ((0, "staple_foot"), (length, "tip")):
        x, y = mm_to_px(along, 0)
        near = flat[int(y) - 6 : int(y) + 7, max(0, int(x) - 8) : int(x) + 9].max()
        assert near > 100, name
    assert abs(mm_to_px(length, 0)[0] - mm_to_px(0, 0)[0] - length * PX_PER_MM) < 1e-9


def test_flat_cut_needs_foot_and_tip():
    numbers = np.array([np.log(800), 0, 0, 0, 0, 0, 0, -74, -52, 300.0])
    with pytest.raises(PhotoRefused, match="foot and the tip"):
        flatten(UprightPicture(np.zeros((600, 800, 3), np.uint8)), numbers, {"tip": (1.0, 2.0)}, (3.0, 3.0))


def test_projection_of_a_flat_place_is_where_the_camera_sees_it():
    frame = Frame(800, 600)
    numbers = np.array([np.log(800), 0, 0, 0, 0.1, 0, 0, -74, -52, 300.0])
    heights = (2.0, 2.0)
    # the surface is that much nearer to the camera, which is tilted about the axis's own direction
    over = np.array([OVER_AXIS["staple_foot"], OVER_AXIS["tip"]])[:, None]
    turn = cv2.Rodrigues(numbers[4:7])[0]
    off = -turn.T @ numbers[7:] - [30.0, 52, -2]
    towards = np.array([0, *off[1:]]) / np.linalg.norm(off[1:])
    ends = np.array([[30.0, 52, -2], [100.0, 52, -2]]) + over * towards
    foot, tip = project(numbers, frame, ends)
    points = {"staple_foot": (float(foot[0]), float(foot[1])), "tip": (float(tip[0]), float(tip[1]))}
    matrices = landmark_matrices(numbers, frame, points, heights)
    live = distance_mm(matrices["staple_foot"], points["staple_foot"], points["tip"], matrices["tip"])
    assert live == pytest.approx(70, abs=1e-4)
    surface = float(np.linalg.norm(ends[1] - ends[0]))
    seen = seen_homography(numbers, frame, points, heights)
    assert distance_mm(seen, points["staple_foot"], points["tip"]) == pytest.approx(surface, abs=0.01)
