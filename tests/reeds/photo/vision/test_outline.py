"""The outline of the opening as plain numbers, bent by a few points."""

import json

import numpy as np
import pytest

from reeds.numbers.measured import Measured
from reeds.photo.vision.opening import Outline, figures
from reeds.photo.vision.outline import (
    CONTROLS,
    NAMES,
    by_hand,
    controls,
    corrected,
    turned,
)
from tests.reeds.photo.vision.test_opening import lens


@pytest.fixture
def outline():
    return Outline.from_json(json.loads(json.dumps(lens(lean=0.2).to_json())))


def test_what_is_kept_says_the_same_as_what_was_found(outline):
    before, after = figures(lens(lean=0.2), Measured(7.0)), figures(outline, Measured(7.0))
    assert after.area_mm2.value == pytest.approx(before.area_mm2.value, rel=0.003)
    assert after.height_mm.value == pytest.approx(before.height_mm.value, rel=0.005)
    assert after.unevenness.value == pytest.approx(before.unevenness.value, abs=0.003)


def test_points_left_alone_leave_outline_and_doubt_alone(outline):
    same = corrected(outline, controls(outline))
    assert np.allclose(same.upper, outline.upper)
    assert (same.u_px, same.u_corner_px) == (outline.u_px, outline.u_corner_px)
    assert set(controls(outline)) == set(NAMES)


def test_outline_goes_through_a_dragged_point_and_its_doubt_is_a_hands(outline):
    points = controls(outline)
    middle = f"upper_{CONTROLS // 2}"
    x, y = points[middle]
    bent = corrected(outline, points | {middle: (x, y - 20)})
    assert controls(bent)[middle] == pytest.approx((x, y - 20))
    assert controls(bent)["upper_0"] == pytest.approx(points["upper_0"])
    assert bent.u_px > outline.u_px
    assert bent.u_corner_px == outline.u_corner_px
    assert figures(bent).height_ratio.value > figures(outline).height_ratio.value + 0.02


def test_corner_moved_outwards_makes_every_ratio_smaller(outline):
    points = controls(outline)
    x, y = points["left"]
    wider = corrected(outline, points | {"left": (x - 70, y)})
    assert figures(wider).height_ratio.value == pytest.approx(
        figures(outline).height_ratio.value * 700 / 770, rel=0.02
    )


def test_turned_by_half_left_and_right_change_places(outline):
    before, after = figures(outline), figures(turned(outline))
    assert after.unevenness.value == pytest.approx(-before.unevenness.value, abs=1e-6)
    assert after.height_ratio.value == pytest.approx(before.height_ratio.value, rel=0.005)


def test_lens_to_begin_from_lies_in_the_picture_and_has_figures():
    start = by_hand(400, 300)
    for x, y in controls(start).values():
        assert 0 < x < 400
        assert 0 < y < 300
    assert figures(start).unevenness.value == pytest.approx(0, abs=1e-6)
