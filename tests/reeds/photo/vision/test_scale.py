"""The three scales answer alike: lengths near the truth, matrices that agree, doubts of a hand."""

import numpy as np
import pytest

from reeds.numbers.measured import Measured
from reeds.photo.vision.camera import Frame
from reeds.photo.vision.card import MARKER_PLACES_MM, MarkersFound, marker_corners_mm
from reeds.photo.vision.card_view import NO_FACTOR, OFF_CARD, Settings, solve_card
from reeds.photo.vision.lengths import LANDMARKS, LENGTHS, Axis, Clicks
from reeds.photo.vision.projection import distance_mm
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.ruler import NOT_BESIDE, NOT_LEVEL, KnownLength
from reeds.photo.vision.scale import (
    CardScale,
    Id1Scale,
    RulerScale,
    lengths_by,
    remarks,
    u_by_hand,
    u_left_alone,
)
from reeds.photo.vision.solve import NO_FOCAL
from tests.simulator.optics import Lens, look_at
from tests.simulator.photo import on_surface

FRAME = Frame(4000, 3000)
AXIS = Axis(Measured(3.25, 0.05), Measured(3.0, 0.05))
FOCAL_35 = 3000 / np.sqrt(4000 / 36 * 5000 / 43.267)
VIEW = look_at(Lens(3000, 4000, 3000), (74, 52, 0), 300, 8, 70, 15)
TRUE_MM = float(np.hypot(72, 0.25))
ALONG = np.array([72, 0, -0.25]) / TRUE_MM
MARKS = {"staple_foot": (0, 0), "thread_end": (47, 0), "tip": (TRUE_MM, 0)}
PLACES = on_surface(
    VIEW.place,
    (np.array([36, 52.5, 3.25]), ALONG, np.array([0, 1, 0])),
    MARKS,
    {"staple_foot": 2.7, "thread_end": 2.1, "tip": 0.5},
)
POINTS = {
    name: tuple(map(float, place))
    for name, place in zip(PLACES, VIEW.see(np.array(list(PLACES.values()))), strict=True)
}


def card(focal=FOCAL_35, factor=None):
    corners = np.concatenate([marker_corners_mm(number) for number in MARKER_PLACES_MM])
    seen = VIEW.see(np.column_stack([corners, np.zeros(len(corners))])).reshape(-1, 4, 2)
    found = MarkersFound(tuple(MARKER_PLACES_MM), seen)
    return CardScale(solve_card(found, FRAME, Settings(AXIS, factor), focal))


def ruler(focal=FOCAL_35):
    return RulerScale(KnownLength(80, *VIEW.see(np.array([[20, 40, 0.5], [100, 40, 0.5]]))), FRAME, focal)


def id1(focal=FOCAL_35):
    corners = np.array([[20, 60, 0.38], [105.6, 60, 0.38], [105.6, 113.98, 0.38], [20, 113.98, 0.38]])
    return Id1Scale(tuple(map(tuple, VIEW.see(corners).tolist())), FRAME, focal)


SCALES = pytest.mark.parametrize("make", [card, ruler, id1])


@SCALES
def test_every_scale_gives_the_true_length_within_its_doubt(make):
    found = lengths_by(make(), Clicks(POINTS), AXIS)
    assert set(found) == {"tie_length", "overall_length", "cane_beyond_thread", "foot_to_thread_end"}
    assert abs(found["tie_length"].value - TRUE_MM) < 2 * found["tie_length"].u


@SCALES
def test_the_matrices_of_a_scale_agree_with_its_lengths(make):
    scale = make()
    seen = scale.solve(POINTS, AXIS)
    lengths = lengths_by(scale, Clicks(POINTS), AXIS)
    matrices = scale.matrices(seen, POINTS, lengths)
    for name, length in lengths.items():
        a, b = LENGTHS[name]
        assert distance_mm(matrices[a], POINTS[a], POINTS[b], matrices[b]) == pytest.approx(
            length.value, rel=2e-3
        ), name


@SCALES
def test_without_landmarks_there_are_matrices_and_no_length(make):
    scale = make()
    seen = scale.solve({}, AXIS)
    assert scale.lengths(seen, Clicks({})) == {}
    matrices = scale.matrices(seen, {}, {})
    assert set(matrices) == set(LANDMARKS)
    assert all(np.isfinite(matrix).all() for matrix in matrices.values())


def test_a_bank_cards_face_lies_nearer_to_the_axis_than_the_table():
    assert id1().solve(POINTS, AXIS).camera.heights == pytest.approx((3.25 - 0.38, 3.0 - 0.38))
    assert card().solve(POINTS, AXIS).camera.heights == (3.25, 3.0)


def test_a_scale_says_what_it_does_not_know():
    assert card().warnings == (NO_FACTOR,)
    assert card(None, Measured(1.0)).warnings == (NO_FOCAL,)
    assert ruler(None).warnings == (NOT_LEVEL, NO_FOCAL)
    assert (id1().warnings, id1(None).warnings) == ((), (NO_FOCAL,))


def test_a_landmark_off_the_card_is_refused_by_the_card_only():
    away = POINTS | {"tip": tuple(map(float, VIEW.see(np.array([[152.0, 52.5, 0]]))[0]))}
    with pytest.raises(PhotoRefused, match=OFF_CARD[:20]):
        card().solve(away, AXIS)
    assert ruler().solve(away, AXIS).noise_px > 0


def test_what_a_hand_sets_is_less_sure_than_a_click_and_the_tip_surest():
    seen = card().solve(POINTS, AXIS)
    u_px = u_by_hand(seen, POINTS)
    assert seen.noise_px < u_px["tip"] < u_px["staple_foot"] < u_px["thread_end"]
    assert u_by_hand(seen, {}) == {}


def test_only_a_proposal_left_where_it_was_keeps_its_own_doubt():
    proposed = Clicks({"tip": (10.0, 20.0), "staple_foot": (1.0, 2.0)}, {"tip": 1.5, "staple_foot": 2.5})
    points = {"tip": (10.03, 20.0), "staple_foot": (1.1, 2.0), "thread_end": (5.0, 5.0)}
    assert u_left_alone(proposed, points) == {"tip": 1.5}


HALF = np.array([350.0, 0])


@pytest.mark.parametrize(
    ("shift", "beside"),
    [((0, 80), True), ((60, -80), True), ((0, 90), False), ((200, 80), False), ((0, 300), False)],
    ids=["beside", "a little on", "a little off", "far along", "far across"],
)
def test_a_ruler_whose_middle_is_not_beside_the_reeds_asks_for_the_card(shift, beside):
    """A reed of 710 px; turned by any angle it is the same."""
    for angle in (0.0, 1.2, 3.0):
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        place = lambda x, y, turn=turn: turn @ np.array([x, y], float) + 2000  # noqa: E731
        points = {"staple_foot": tuple(place(0, 0)), "tip": tuple(place(710, 0))}
        middle = np.array([355.0, 0]) + shift
        known = KnownLength(70.0, place(*(middle - HALF)), place(*(middle + HALF)))
        said = remarks(RulerScale(known, Frame(4000, 4000), 27.0), points)
        assert (NOT_BESIDE in said) is not beside
