"""Simulated photos of a reed on the card come out at their true lengths, within the stated doubt."""

from dataclasses import replace

import numpy as np
import pytest

from reeds.numbers.measured import Measured
from reeds.photo.vision.card_view import Settings, propose, refuse_off_card, view_card
from reeds.photo.vision.lengths import LENGTHS, Axis, Clicks
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.scale import CardScale, lengths_by
from reeds.photo.vision.upright import UprightPicture
from tests.printed import card_picture
from tests.simulator import drawing, other_drawing
from tests.simulator.photo import Conditions, card_photo

SMALL = {"megapixels": (2, 3)}


@pytest.fixture(scope="module")
def image():
    return card_picture()


def photo_of(image, seed, **conditions):
    return card_photo(
        np.random.default_rng(seed), image, (148, 105), (36, 52.5), Conditions(**SMALL | conditions)
    )


def settings_of(photo, focal=True):
    axis = Axis(*(Measured(h, 0.05) for h in photo.heights))
    return Settings(axis, None, photo.focal_35mm if focal else None)


def points_of(photo):
    return {k: tuple(map(float, p)) for k, p in photo.marks.items()}


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(("focal", "limit"), [(True, 0.15), (False, 0.5)])
def test_given_landmarks_give_true_lengths(image, seed, focal, limit):
    photo = photo_of(image, seed, reed=False)
    settings = settings_of(photo, focal)
    view = view_card(UprightPicture(photo.rgb), settings)
    found = lengths_by(CardScale(view), Clicks(points_of(photo)), settings.axis)
    assert set(found) == set(photo.lengths)
    for name, length in found.items():
        # how thick the cane is where the scrape starts is known to 0.3 mm only
        more = 0.07 if "scrape_start" in LENGTHS[name] else 0.0
        assert abs(length.value - photo.lengths[name]) < limit + more, name
        assert abs(length.value - photo.lengths[name]) < 3.5 * length.u, name


@pytest.mark.parametrize("painter", [drawing.paint, other_drawing.paint])
@pytest.mark.parametrize("seed", [11, 12, 13])
def test_foot_tip_and_thread_end_are_proposed_where_they_are(image, painter, seed):
    photo = photo_of(image, seed, painter=painter)
    view = view_card(UprightPicture(photo.rgb), settings_of(photo))
    clicks = propose(UprightPicture(photo.rgb), view)
    per_mm = np.linalg.norm(photo.marks["tip"] - photo.marks["staple_foot"]) / photo.lengths["tie_length"]
    for name, limit in (("staple_foot", 0.5), ("tip", 0.5), ("thread_end", 0.7)):
        off = np.linalg.norm(np.array(clicks.points[name]) - photo.marks[name]) / per_mm
        assert off < limit + 0.3, name  # along the axis the limit; 0.3 mm more for off across it


def test_ignoring_the_axis_height_would_be_wrong_by_more_than_the_doubt(image):
    """The naive way, measuring in the paper's plane, is what the height is for."""
    photo = photo_of(
        image, 3, reed=False, distance=(150, 200), foot_height=(3.25, 3.25), tip_height=(3.25, 3.25)
    )
    settings = settings_of(photo)
    view = view_card(UprightPicture(photo.rgb), settings)
    flat = lengths_by(CardScale(view), Clicks(points_of(photo)), Axis(Measured(0.0), Measured(0.0)))
    raised = lengths_by(CardScale(view), Clicks(points_of(photo)), settings.axis)
    assert abs(flat["tie_length"].value - photo.lengths["tie_length"]) > 0.8
    assert abs(raised["tie_length"].value - photo.lengths["tie_length"]) < 0.15


def test_a_card_printed_small_is_put_right_by_its_factor(image):
    photo = card_photo(
        np.random.default_rng(4),
        image,
        (148 * 0.97, 105 * 0.97),
        (36 * 0.97, 52.5 * 0.97),
        Conditions(**SMALL, reed=False),
    )
    axis = settings_of(photo).axis
    settings = Settings(axis, Measured(0.97, 0.0002), photo.focal_35mm)
    view = view_card(UprightPicture(photo.rgb), settings)
    found = lengths_by(CardScale(view), Clicks(points_of(photo)), axis)
    assert found["tie_length"].value == pytest.approx(photo.lengths["tie_length"], abs=0.15)


def test_shaky_clicks_get_a_larger_doubt(image):
    photo = photo_of(image, 5, reed=False)
    settings = replace(settings_of(photo), print_factor=Measured(1.0, 0.0002))
    view = view_card(UprightPicture(photo.rgb), settings)
    rng = np.random.default_rng(1)
    shaken = {k: tuple(np.array(p) + rng.normal(0, 3, 2)) for k, p in points_of(photo).items()}
    fine = lengths_by(CardScale(view), Clicks(points_of(photo)), settings.axis)["tie_length"].u
    rough = lengths_by(CardScale(view), Clicks(shaken), settings.axis)["tie_length"].u
    assert rough > 3 * fine


def test_a_landmark_off_the_card_is_refused(image):
    photo = photo_of(image, 6, reed=False)
    view = view_card(UprightPicture(photo.rgb), settings_of(photo))
    corner = photo.view.see(np.array([[150.0, 50, 0]]))[0]
    with pytest.raises(PhotoRefused, match="off the card"):
        refuse_off_card(view, {"tip": tuple(corner)})


def test_a_card_seen_at_over_45_degrees_is_refused(image):
    photo = photo_of(image, 7, reed=False, tilt=(50, 54), distance=(260, 300))
    with pytest.raises(PhotoRefused, match="45 degrees"):
        view_card(UprightPicture(photo.rgb), settings_of(photo))


def test_unknown_landmarks_leave_their_lengths_out(image):
    photo = photo_of(image, 8, reed=False)
    settings = settings_of(photo)
    view = view_card(UprightPicture(photo.rgb), settings)
    some = {k: v for k, v in points_of(photo).items() if k in ("tip", "tip_start")}
    assert set(lengths_by(CardScale(view), Clicks(some), settings.axis)) == {"tip_length"}
    assert set(LENGTHS) > {"tip_length"}


@pytest.mark.parametrize("foot_x", [-20.0, 80.0])
def test_a_reed_that_runs_off_the_field_is_refused(image, foot_x):
    rng = np.random.default_rng(9)
    photo = card_photo(rng, image, (148, 105), (foot_x, 52.5), Conditions(**SMALL))
    view = view_card(UprightPicture(photo.rgb), settings_of(photo))
    with pytest.raises(PhotoRefused, match="off the card"):
        propose(UprightPicture(photo.rgb), view)
