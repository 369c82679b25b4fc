"""What was heard goes to JSON and comes back as it was; rows of earlier versions are read."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reeds.numbers.measured import Measured
from reeds.numbers.notes import note_name
from reeds.take.sound.analysis import analyse, analyse_with_tracks
from reeds.take.sound.contours import Contours, contours_of
from reeds.take.sound.heard import (
    Also,
    Crow,
    CrowPitch,
    Heard,
    HeardNote,
    LongTone,
    NotesSpoken,
    Quality,
    Staccato,
    Tuning,
)
from reeds.take.sound.items import ITEMS
from reeds.take.sound.rounding import as_kept
from reeds.take.sound.signals import Waveform
from reeds.take.sound.stored import contours_from_json, contours_to_json, heard_from_json, heard_to_json
from tests.simulate_sound import Room, plain, record


def through_json(row):
    return json.loads(json.dumps(row, allow_nan=False))


seconds, decibels = st.floats(0.0, 180.0), st.floats(-110.0, 60.0)
counts = st.integers(0, 200)
figures = st.builds(Measured, st.floats(-2000.0, 2000.0), st.floats(0.0, 500.0))
maybe = st.none() | figures
names = st.integers(58, 91).map(note_name)
sounding = st.builds(
    HeardNote, seconds, seconds, st.just(True), names, maybe, maybe, maybe, maybe, maybe, st.none()
)
silent = st.builds(
    HeardNote, st.none() | seconds, st.none() | seconds, st.just(False), names, heard=st.none() | names
)
pitches = st.builds(CrowPitch, st.floats(200.0, 2300.0), names, figures)
items = st.one_of(
    st.builds(NotesSpoken, counts, counts),
    st.builds(Staccato, counts, maybe, maybe, counts),
    st.builds(LongTone, maybe),
    st.builds(Tuning, maybe),
    st.builds(Crow, st.lists(pitches, max_size=4).map(tuple), st.none() | st.booleans()),
)
bands = st.tuples(st.floats(0.0, 1000.0), st.floats(1000.0, 24000.0))
qualities = st.builds(Quality, st.none() | decibels, st.booleans(), st.none() | decibels, st.none() | bands)
everything_heard = st.builds(
    Heard,
    st.floats(415.0, 446.0),
    seconds,
    st.lists(sounding | silent, max_size=5).map(tuple),
    st.none() | items,
    qualities,
    st.lists(st.text(), max_size=3).map(tuple),
    st.lists(
        st.builds(Also, st.sampled_from(["tone", "voices"]), seconds, seconds, st.none() | seconds),
        max_size=3,
    ).map(tuple),
    st.none() | st.floats(-1300.0, 1300.0),
)


@given(everything_heard)
def test_what_was_heard_comes_back_as_it_was_written(heard):
    assert heard_from_json(through_json(heard_to_json(heard))) == heard


@given(everything_heard)
def test_rounding_moves_no_figure_of_a_note_by_more_than_a_hundredth_of_its_doubt(heard):
    for note, kept in zip(heard.notes, as_kept(heard).notes, strict=True):
        for own, told in ((note.cents, kept.cents), (note.response_ms, kept.response_ms)):
            if own is not None:
                assert abs(told.value - own.value) <= 0.0051 * own.u + 1e-12
                assert told.u == pytest.approx(own.u, rel=0.006)


@pytest.fixture(scope="module")
def sung():
    played = [plain("D4"), plain("C4", start=1.8), plain("Bb3", start=3.1, breath_only=True)]
    return record(played, 4.5, Room(), np.random.default_rng(7))


@pytest.mark.parametrize("item", [None, *ITEMS])
def test_a_recording_comes_back_as_it_was_heard_whatever_its_item(sung, item):
    heard = analyse(Waveform(sung.samples, sung.rate), item=item, expect=[62, 60, 59, 58])
    assert len(heard.notes) == 4
    assert (heard.item is None) == (item is None)
    assert heard_from_json(through_json(heard_to_json(heard))) == heard


def test_a_row_kept_before_anything_else_was_listened_for_reads_as_nothing_else():
    old = heard_from_json({"notes": [], "warnings": ["This recording is too noisy to tell."]})
    assert (old.also, old.moved_cents) == ((), None)


def test_the_contours_of_a_recording_come_back_as_they_were(sung):
    contours = contours_of(analyse_with_tracks(Waveform(sung.samples, sung.rate))[1])
    assert {type(hz) for hz in contours.hz} == {float, type(None)}
    assert contours_from_json(through_json(contours_to_json(contours))) == contours


@given(
    st.floats(0.0025, 1.0),
    st.lists(st.tuples(st.none() | st.floats(190.0, 2100.0), decibels), max_size=20),
)
def test_contours_come_back_as_they_were_written(step_s, points):
    contours = Contours(step_s, tuple(hz for hz, _ in points), tuple(level for _, level in points))
    assert contours_from_json(through_json(contours_to_json(contours))) == contours


def test_an_empty_row_tells_nothing():
    assert heard_from_json({}) == Heard()
    assert contours_from_json({}).hz == ()


def test_a_row_of_an_earlier_version_is_read_as_far_as_it_goes():
    row = {
        "duration_s": 3.0,
        "item": {"cents": 4.0},
        "notes": [{"response_ms": 70.0, "name": "A4", "sounded": True, "vowel": "oo"}],
        "quality": None,
        "warnings": ["This recording is too noisy to tell."],
        "mood": "fine",
    }
    heard = heard_from_json(row)
    assert (heard.duration_s, heard.item, heard.quality) == (3.0, Tuning(Measured(4.0, 0.0)), Quality())
    (note,) = heard.notes
    assert (note.name, note.sounded, note.response_ms, note.cents) == ("A4", True, Measured(70.0, 0.0), None)
    assert heard.warnings == ("This recording is too noisy to tell.",)


@pytest.mark.parametrize(
    ("row", "item"),
    [
        ({"asked": 4, "spoke": 3}, NotesSpoken(4, 3)),
        ({"count": 11, "failed": 1}, Staccato(11, failed=1)),
        ({"range_db": None}, LongTone()),
        ({"pitches": []}, Crow()),
        ({}, None),
        (None, None),
        ({"of": "another version"}, None),
    ],
)
def test_an_item_is_known_by_its_keys(row, item):
    assert heard_from_json({"item": row}).item == item
