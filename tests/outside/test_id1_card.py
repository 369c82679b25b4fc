"""ISO/IEC 7810: an ID-1 card is 85.60 x 53.98 mm; its four corners give scale and tilt."""

import numpy as np
import pytest

from reeds.numbers.measured import Measured
from reeds.photo.vision.camera import Frame
from reeds.photo.vision.lengths import Axis, Clicks
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.ruler import KnownLength
from reeds.photo.vision.scale import Id1Scale, RulerScale, lengths_by
from tests.simulator.optics import Lens, look_at
from tests.simulator.photo import on_surface

FRAME = Frame(4000, 3000)
AXIS = Axis(Measured(3.25, 0.05), Measured(3.25, 0.05))
CARD = np.array([[0, 0, 0.38], [85.60, 0, 0.38], [85.60, 53.98, 0.38], [0, 53.98, 0.38]])
FOCAL_35 = 3000 / np.sqrt(4000 / 36 * 5000 / 43.267)


def photo(tilt, distance=300):
    view = look_at(Lens(3000, 4000, 3000), (42, 0, 0), distance, tilt, 70, 15)
    lying = (np.array([5, -20, 3.25]), np.array([1.0, 0, 0]), np.array([0, 1.0, 0]))
    marks, over = {"staple_foot": (0, 0), "tip": (72, 0)}, {"staple_foot": 2.7, "tip": 0.5}
    places = on_surface(view.place, lying, marks, over)
    return view, Clicks({name: tuple(view.see(place)[0]) for name, place in places.items()})


@pytest.mark.parametrize("first", [0, 1, 2, 3])
@pytest.mark.parametrize("way", [1, -1])
def test_corners_may_begin_anywhere_and_run_either_way(first, way):
    view, clicks = photo(20)
    corners = np.roll(view.see(CARD), first, axis=0)[::way]
    found = lengths_by(Id1Scale(corners.tolist(), FRAME, FOCAL_35), clicks, AXIS)
    assert found["tie_length"].value == pytest.approx(72, abs=0.05)


def test_doubt_of_a_card_covers_the_height_at_which_its_corners_were_clicked():
    view, clicks = photo(5)
    for lift in (0.0, 0.76):
        corners = view.see(CARD + np.array([0, 0, lift - 0.38]))
        found = lengths_by(Id1Scale(corners.tolist(), FRAME, FOCAL_35), clicks, AXIS)["tie_length"]
        assert abs(found.value - 72) < 2 * found.u
        assert found.u > 0.06


def test_a_crossed_quadrangle_is_no_card():
    view, clicks = photo(5)
    corners = view.see(CARD)[[0, 2, 1, 3]]
    with pytest.raises(PhotoRefused, match="corners"):
        lengths_by(Id1Scale(corners.tolist(), FRAME, FOCAL_35), clicks, AXIS)


def test_two_clicks_carry_the_tilt_that_they_cannot_show():
    view, clicks = photo(0)
    ruler = view.see(np.array([[0, 0, 0.5], [80, 0, 0.5]]))
    found = lengths_by(RulerScale(KnownLength(80, *ruler), FRAME, FOCAL_35), clicks, AXIS)["tie_length"]
    assert found.value == pytest.approx(72, abs=0.25)
    assert 0.2 < found.u < 1.5


@pytest.mark.parametrize("tilt", [10, 20])
def test_an_unseen_tilt_lies_within_the_stated_doubt(tilt):
    view, clicks = photo(tilt)
    ruler = view.see(np.array([[0, 0, 0.5], [80, 0, 0.5]]))
    found = lengths_by(RulerScale(KnownLength(80, *ruler), FRAME, FOCAL_35), clicks, AXIS)["tie_length"]
    assert abs(found.value - 72) < 2 * found.u


def test_coinciding_clicks_are_refused():
    _, clicks = photo(0)
    with pytest.raises(PhotoRefused, match="apart"):
        lengths_by(RulerScale(KnownLength(80, np.zeros(2), np.zeros(2)), FRAME, FOCAL_35), clicks, AXIS)
