"""JCGM 101:2008 (propagation of distributions) as the reference for the stated uncertainty of lengths.

Every input is drawn from the distribution that the estimator states for it; the length is worked out anew.
"""

import numpy as np
import pytest

from reeds.numbers.measured import Measured
from reeds.photo.vision.camera import Frame
from reeds.photo.vision.lengths import OVER_AXIS_MM, Axis, Clicks, Scatter, measure, places, plain_lengths
from reeds.photo.vision.solve import focal_prior, solve_camera
from tests.simulator.optics import Lens, look_at


def solved_view(focal_35=None):
    view = look_at(Lens(2900, 4000, 3000), (74, 52, 0), 220, 12, 40, 20)
    frame = Frame(4000, 3000)
    flat = np.random.default_rng(4).uniform((0, 0), (148, 105), (40, 2))
    pixels = view.see(np.column_stack([flat, np.zeros(40)])) + np.random.default_rng(5).normal(
        0, 0.3, (40, 2)
    )
    solved = solve_camera(np.column_stack([flat, np.zeros(40)]), pixels, frame, focal_prior(frame, focal_35))
    axis = view.see(np.array([[36, 52, 3.25], [82, 52.2, 3.0], [108, 52.3, 2.75]]))
    points = {n: tuple(p) for n, p in zip(("staple_foot", "thread_end", "tip"), axis, strict=True)}
    return solved, points


@pytest.mark.parametrize("focal_35", [26.0, None])
def test_stated_uncertainty_is_what_propagation_of_distributions_gives(focal_35):
    solved, points = solved_view(focal_35)
    axis = Axis(Measured(3.25, 0.14), Measured(2.75, 0.3))
    clicks = Clicks(points, dict.fromkeys(points, 0.8))
    stated = measure(solved, clicks, axis, Measured(1, 0.001))
    rng = np.random.default_rng(6)
    drawn = []
    for numbers in rng.multivariate_normal(solved.numbers, solved.covariance, 3000):
        shaken = {n: tuple(np.array(p) + rng.normal(0, 0.8, 2)) for n, p in points.items()}
        heights = (rng.normal(3.25, 0.14), rng.normal(2.75, 0.3))
        over = {name: rng.normal(one.value, one.u) for name, one in OVER_AXIS_MM.items()}
        found = plain_lengths(places(numbers, solved.frame, shaken, heights, over))
        drawn.append({k: v * rng.normal(1, 0.001) for k, v in found.items()})
    for name, length in stated.items():
        spread = np.std([d[name] for d in drawn])
        assert length.u == pytest.approx(spread, rel=0.08), name


def test_few_degrees_of_freedom_are_widened_by_students_t():
    """JCGM 100:2008, Table G.2: t for 95.45 % with 4 degrees of freedom is 2.87."""
    widened = Scatter(squares=4.0, freedom=4).noise_px()
    assert widened == pytest.approx(2.87 / 2, abs=0.005)
