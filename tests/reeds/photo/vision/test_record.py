"""What is stored of a photo is read back as it was, by way of real JSON; what older rows hold is read too."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reeds.numbers.measured import Measured
from reeds.photo.vision.camera import AxisCamera
from reeds.photo.vision.card import MARKER_PLACES_MM, MarkersFound
from reeds.photo.vision.lengths import LANDMARKS, LENGTHS, Clicks
from reeds.photo.vision.opening import KEPT, Outline
from reeds.photo.vision.outline import NAMES
from reeds.photo.vision.record import LengthsKept, MarksBeside, OutlineSet, ReedFound

px = st.floats(0, 12_000).map(lambda v: round(v, 2))
fine_px = st.floats(0, 12_000).map(lambda v: round(v, 3))
mm = st.floats(0, 100).map(lambda v: round(v, 4))
place = st.tuples(px, px)


@st.composite
def markers(draw):
    ids = tuple(sorted(draw(st.sets(st.sampled_from(sorted(MARKER_PLACES_MM)), min_size=1))))
    pixels = draw(st.lists(fine_px, min_size=len(ids) * 8, max_size=len(ids) * 8))
    return MarkersFound(ids, np.array(pixels).reshape(-1, 4, 2))


@st.composite
def clicks(draw):
    points = draw(st.dictionaries(st.sampled_from(LANDMARKS), place))
    return Clicks(points, {name: draw(fine_px) for name in points})


numbers = st.lists(st.floats(-1e4, 1e4), min_size=10, max_size=10).map(np.array)
cameras = st.builds(AxisCamera, numbers, st.tuples(mm, mm))
kept = st.builds(
    LengthsKept,
    beside=st.builds(MarksBeside, mm, st.lists(place, max_size=4).map(tuple)),
    heights=st.none() | st.tuples(mm, mm),
    landmarks=st.dictionaries(st.sampled_from(LANDMARKS), place),
    camera=st.none() | cameras,
    lengths=st.dictionaries(st.sampled_from(sorted(LENGTHS)), st.builds(Measured, mm, mm)),
)


def stored(record):
    return json.loads(json.dumps(record.to_json(), allow_nan=False))


def back(record):
    return type(record).from_json(stored(record))


@given(st.builds(ReedFound, st.none() | markers(), clicks()))
def test_what_the_worker_found_comes_back(found):
    again = back(found)
    assert again.proposed == found.proposed
    assert (again.markers is None) == (found.markers is None)
    if found.markers is not None:
        assert again.markers.ids == found.markers.ids
        assert np.array_equal(again.markers.pixels, found.markers.pixels)


@given(kept)
def test_what_a_person_kept_comes_back(record):
    again = back(record)
    assert (again.beside, again.heights) == (record.beside, record.heights)
    assert (again.landmarks, again.lengths) == (record.landmarks, record.lengths)
    assert (again.camera is None) == (record.camera is None)
    if record.camera is not None:
        assert again.camera.heights == record.camera.heights
        assert np.array_equal(again.camera.numbers, record.camera.numbers)


@given(st.dictionaries(st.sampled_from(NAMES), place))
def test_where_the_outline_was_left_comes_back(points):
    assert back(OutlineSet(points)).points == points


@given(st.lists(px, min_size=4 * KEPT, max_size=4 * KEPT), mm, mm)
def test_an_outline_written_twice_is_the_same_to_a_hundredth_of_a_pixel(places, u_px, u_corner_px):
    """Its points are spread evenly along each edge once more: on a straight edge they stay where they are."""
    ends = np.array(places).reshape(4, KEPT)
    upper, lower = (np.linspace(ends[i, :2], ends[i + 1, :2] + 1, KEPT) for i in (0, 2))
    outline = Outline(ends[0, 5:7], ends[1, 5:7], upper, lower, u_px, u_corner_px)
    once = back(outline)
    twice = back(once)
    assert (once.u_px, once.u_corner_px) == (u_px, u_corner_px)
    for part in ("left", "right", "upper", "lower"):
        assert getattr(once, part) == pytest.approx(getattr(outline, part), abs=0.006)
        assert getattr(twice, part) == pytest.approx(getattr(once, part), abs=0.02)


def test_finer_than_it_is_stored_is_rounded():
    assert stored(Clicks({"tip": (1.23456, 2.0)}, {"tip": 0.12345})) == {"tip": [1.23, 2.0, 0.123]}
    record = LengthsKept(landmarks={"tip": (1.23456, 2)}, lengths={"tie_length": Measured(71.23456, 0.1)})
    assert stored(record)["landmarks"] == {"tip": [1.23, 2]}
    assert stored(record)["lengths"] == {"tie_length": [71.2346, 0.1]}


ROW = {
    "reference": {"mm": 60.0, "points": [[1.0, 2.0], [3.0, 4.0]]},
    "heights": [3.1, 2.9],
    "landmarks": {"tip": [10.25, 20.5]},
    "camera": {"numbers": [0.0] * 10, "heights": [3.1, 2.9]},
    "lengths": {"tie_length": [71.2, 0.11]},
}


def test_the_stored_shape_is_what_rows_hold_since_the_first_day():
    read = LengthsKept.from_json(ROW)
    assert read.beside == MarksBeside(60.0, ((1.0, 2.0), (3.0, 4.0)))
    assert (read.heights, read.camera.heights) == ((3.1, 2.9), (3.1, 2.9))
    assert read.lengths == {"tie_length": Measured(71.2, 0.11)}
    assert read.to_json() == ROW
    found = {"markers": {"ids": [1], "pixels": [[[1.0, 2.0]] * 4]}, "proposed": {"tip": [1.0, 2.0, 0.5]}}
    assert ReedFound.from_json(found).to_json() == found


def test_a_row_that_nobody_measured_reads_as_nothing():
    empty = {"reference": {}, "heights": [], "landmarks": {}, "camera": None, "lengths": {}}
    assert LengthsKept.from_json(empty) == LengthsKept()
    assert ReedFound.from_json({"markers": None, "proposed": {}}) == ReedFound()


def test_the_two_kinds_of_marks_share_a_column_without_being_taken_for_one_another():
    assert MarksBeside.from_json(OutlineSet({"left": (1.0, 2.0)}).to_json()) == MarksBeside()
    assert OutlineSet.from_json(MarksBeside(60.0, ((1.0, 2.0),)).to_json()) == OutlineSet()
