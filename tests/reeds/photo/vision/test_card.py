"""The card's layout, its markers in a picture, and every picture of it that is refused."""

import cv2
import numpy as np
import pytest

from reeds.photo import printing as cards
from reeds.photo.vision import card, markers
from reeds.photo.vision.card_view import Settings, propose, view_card
from reeds.photo.vision.decode import read_picture
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.upright import UprightPicture


@pytest.fixture(scope="module")
def drawn():
    """The card itself at 200 dpi on a grey table."""
    rgb = read_picture(cards.png(3, dpi=200)).rgb
    return cv2.copyMakeBorder(rgb, 80, 80, 80, 80, cv2.BORDER_CONSTANT, value=(120, 110, 100))


def test_markers_stand_clear_of_a_reed_of_75_mm_and_of_the_cards_edge():
    for number in card.MARKER_PLACES_MM:
        corners = card.marker_corners_mm(number)
        assert corners.min() >= 4
        assert corners[:, 0].max() <= card.WIDTH_MM - 4
        assert corners[:, 1].max() <= card.HEIGHT_MM - 4
        beside = corners[:, 0].max() < card.FOOT_X_MM or corners[:, 0].min() > card.FOOT_X_MM + 75
        away = np.abs(corners[:, 1] - card.AXIS_Y_MM).min() > 8
        assert beside or away


def test_markers_are_found_where_the_table_says(drawn):
    found = markers.find_markers(cv2.cvtColor(drawn, cv2.COLOR_RGB2GRAY))
    assert found.ids == tuple(range(10))
    scale = np.array([1165 / 148, 827 / 105])
    assert np.abs((found.pixels - 80) / scale - found.card_mm).max() < 0.03


def refusal(rgb, settings=None):
    with pytest.raises(PhotoRefused) as caught:
        view_card(UprightPicture(np.ascontiguousarray(rgb)), settings or Settings(focal_35mm=27))
    return str(caught.value)


def test_a_picture_without_the_card_is_refused():
    assert "whole card" in refusal(np.full((600, 800, 3), 128, np.uint8))


def test_a_card_half_cut_off_is_refused(drawn):
    assert "whole card" in refusal(drawn[:, :420])


def test_a_card_with_markers_on_one_side_of_the_reed_only_is_refused(drawn):
    covered = drawn.copy()
    covered[80 + 640 :] = 90
    assert "one side" in refusal(covered)


def test_a_mirrored_picture_is_refused(drawn):
    assert "mirrored" in refusal(drawn[:, ::-1])


def test_another_dictionary_is_refused(drawn):
    other = drawn.copy()
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_50)
    for number, (x, y) in card.MARKER_PLACES_MM.items():
        left, top, side = round(80 + x / 148 * 1165), round(80 + y / 105 * 827), 126
        marker = cv2.aruco.generateImageMarker(book, number, side)
        other[top : top + side, left : left + side] = marker[..., None]
    assert "not those of our card" in refusal(other)


def test_a_blurred_picture_is_refused(drawn):
    assert "blurred" in refusal(cv2.GaussianBlur(drawn, (0, 0), 6))


def test_mild_blur_is_taken(drawn):
    view_card(UprightPicture(cv2.GaussianBlur(drawn, (0, 0), 1.3)), Settings(focal_35mm=27))


def test_an_empty_card_has_no_reed_on_it(drawn):
    picture = UprightPicture(drawn)
    with pytest.raises(PhotoRefused, match="No reed can be seen"):
        propose(picture, view_card(picture, Settings(focal_35mm=27)))
