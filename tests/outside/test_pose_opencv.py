"""OpenCV's own projection (cv2.projectPoints, Brown's radial term k1) holds our camera to the same pixels."""

import cv2
import numpy as np
import pytest

from reeds.photo.vision.camera import Frame, meet_plane, project
from reeds.photo.vision.solve import focal_prior, solve_camera

FRAME = Frame(4000, 3000)


def numbers(focal, distortion, turn, shift):
    return np.array([np.log(focal), distortion, 0, 0, *turn, *shift])


def seen_by_opencv(focal, distortion, turn, shift, points):
    matrix = np.array([[focal, 0, 2000], [0, focal, 1500], [0, 0, 1.0]])
    k1 = distortion * (focal / 2500) ** 2
    pixels, _ = cv2.projectPoints(points, np.array(turn), np.array(shift), matrix, np.array([k1, 0, 0, 0]))
    return pixels.reshape(-1, 2)


CASES = [
    (3000.0, 0.0, (0.0, 0.0, 0.0), (-74.0, -52.0, 250.0)),
    (2800.0, 0.005, (0.3, -0.2, 1.5), (-20.0, -60.0, 300.0)),
    (3400.0, -0.005, (-0.2, 0.35, -3.0), (90.0, 40.0, 180.0)),
]


@pytest.mark.parametrize(("focal", "distortion", "turn", "shift"), CASES)
def test_our_projection_is_opencvs(focal, distortion, turn, shift):
    points = np.random.default_rng(2).uniform((0, 0, -7), (148, 105, 0), (40, 3))
    ours = project(numbers(focal, distortion, turn, shift), FRAME, points)
    assert np.abs(ours - seen_by_opencv(focal, distortion, turn, shift, points)).max() < 1e-6


@pytest.mark.parametrize(("focal", "distortion", "turn", "shift"), CASES)
def test_our_pose_is_the_one_opencv_projected_by(focal, distortion, turn, shift):
    flat = np.random.default_rng(3).uniform((0, 0), (148, 105), (40, 2))
    points = np.column_stack([flat, np.zeros(40)])
    pixels = seen_by_opencv(focal, distortion, turn, shift, points)
    focal_35 = focal / np.sqrt(4000 / 36 * 5000 / 43.267)
    solved = solve_camera(points, pixels, FRAME, focal_prior(FRAME, focal_35))
    above = np.array([[40.0, 50, -3.25], [110, 55, -2.5]])
    ends = seen_by_opencv(focal, distortion, turn, shift, above)
    found = [
        meet_plane(solved.numbers, FRAME, ends[i : i + 1], above[i], np.array([0, 0, 1.0]))[0] for i in (0, 1)
    ]
    true = np.linalg.norm(above[1] - above[0])
    assert np.linalg.norm(found[1] - found[0]) == pytest.approx(true, abs=0.02)
