"""The opening: figures from an outline of known shape, and outlines found in simulated pictures."""

import numpy as np
import pytest

from reeds.numbers.measured import Measured
from reeds.photo.vision.corners import find_corners
from reeds.photo.vision.edges import Edges, Strip
from reeds.photo.vision.gap import find_outline
from reeds.photo.vision.opening import Outline, control_points, figures
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.upright import UprightPicture
from tests.simulator.opening import opening_photo


def lens(width=7.0, height=1.0, scale=100.0, lean=0.0, roll=0.0):
    """Two circular arcs over the blades' whole width, px; `lean` takes from the right, gives to the left."""
    x = np.linspace(-width / 2, width / 2, 181)
    radius = width**2 / (4 * height) + height / 4
    rise = np.sqrt(radius**2 - x**2) - (radius - height / 2)
    rise = np.maximum(rise, 0) * (1 - lean * 2 * x / width)
    turn = np.array([[np.cos(roll), np.sin(roll)], [-np.sin(roll), np.cos(roll)]])
    upper, lower = (np.column_stack([x, way * rise]) @ turn * scale + 800 for way in (-1, 1))
    return Outline(upper[0], upper[-1], upper, lower)


@pytest.mark.parametrize("roll", [0.0, 0.26])
def test_a_lens_of_7_by_1_mm_has_the_area_of_two_circular_segments(roll):
    """Geometry: A = R^2 (t - sin t), R = w^2 / (8 s) + s / 2, s = h / 2, t = 2 asin(w / 2R): 4.686 mm2."""
    found = figures(lens(roll=roll), Measured(7.0))
    assert found.area_mm2.value == pytest.approx(4.686, abs=0.01)
    assert found.height_mm.value == pytest.approx(1.0, abs=0.005)
    assert found.height_ratio.value == pytest.approx(1 / 7, abs=0.001)
    assert found.unevenness.value == pytest.approx(0, abs=1e-6)


def test_more_room_on_the_left_is_positive():
    found = figures(lens(lean=0.3))
    assert found.unevenness.value > 0.05
    assert found.left_height_ratio.value > found.right_height_ratio.value
    mirrored = figures(lens(lean=-0.3))
    assert mirrored.unevenness.value == pytest.approx(-found.unevenness.value, abs=1e-6)


def test_millimetres_need_the_tips_width():
    found = figures(lens())
    assert (found.height_mm, found.width_mm, found.area_mm2) == (None, None, None)
    with pytest.raises(PhotoRefused, match="3 and 15"):
        figures(lens(), Measured(30.0))


def test_control_points_keep_the_figures():
    few = control_points(lens(lean=0.2), 9)
    assert few.upper.shape == (9, 2)
    assert figures(few).height_ratio.value == pytest.approx(1 / 7, rel=0.02)
    assert figures(few).unevenness.value == pytest.approx(figures(lens(lean=0.2)).unevenness.value, abs=0.02)


@pytest.mark.parametrize("side", [-1, 1])
def test_a_gap_that_runs_on_to_the_edge_is_refused(side):
    columns = np.arange(0.0, 41.0) + (20 if side > 0 else 0)
    strip = Strip(
        np.zeros((40, 60, 3)), np.zeros((40, 60)), np.zeros(2), np.array([1.0, 0]), np.array([0, 1.0]), 1.0
    )
    edges = Edges(columns, np.full(41, 18.0), np.full(41, 22.0), 1.0)
    with pytest.raises(PhotoRefused, match="leave room"):
        find_corners(strip, edges)


def test_an_outline_turned_inside_out_is_refused():
    right = lens()
    with pytest.raises(PhotoRefused, match="middle of the blades"):
        figures(Outline(right.left, right.right, right.lower, right.upper))


@pytest.mark.parametrize("bright", [True, False])
@pytest.mark.parametrize("seed", range(5))
def test_simulated_openings_come_out_right(seed, bright):
    photo = opening_photo(np.random.default_rng([seed, bright]), bright)
    found = figures(find_outline(UprightPicture(photo.rgb)), Measured(photo.width, 0.02))
    assert found.height_ratio.value == pytest.approx(photo.height_ratio, rel=0.06)
    assert found.unevenness.value == pytest.approx(photo.unevenness, abs=0.05)
    assert found.area_mm2.value == pytest.approx(photo.area, rel=0.08)


def test_a_wall_without_a_reed_has_no_opening():
    rng = np.random.default_rng(1)
    wall = np.clip(rng.normal(180, 4, (600, 800, 3)), 0, 255).astype(np.uint8)
    with pytest.raises(PhotoRefused, match="No opening"):
        find_outline(UprightPicture(wall))


def test_light_through_the_staple_does_not_cut_the_gap_in_two():
    photo = opening_photo(np.random.default_rng([5, 0]), True)
    rgb = photo.rgb.copy()
    hole = (rgb.max(axis=2) < 50).astype(np.uint8)
    columns = np.flatnonzero(hole.any(axis=0))
    middle = slice(*np.percentile(columns, [35, 55]).astype(int))
    rgb[:, middle][hole[:, middle] > 0] = (150, 125, 80)
    found, dark = (figures(find_outline(UprightPicture(one))) for one in (rgb, photo.rgb))
    assert found.height_ratio.value == pytest.approx(dark.height_ratio.value, rel=0.03)
    assert found.unevenness.value == pytest.approx(dark.unevenness.value, abs=0.02)


def test_a_gap_lit_from_the_foot_is_found_in_the_negative():
    photo = opening_photo(np.random.default_rng([3, 0]), False)
    found = figures(find_outline(UprightPicture(255 - photo.rgb)))
    assert found.height_ratio.value == pytest.approx(photo.height_ratio, rel=0.06)
