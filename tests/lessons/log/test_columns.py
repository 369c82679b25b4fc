"""Headings as people write them name columns of the registry; cells are read in the unit a heading tells."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.log.table.cells import Use, read_cell
from lessons.log.table.columns import columns_of
from lessons.log.table.days import Order
from lessons.log.table.headings import factor_of, heading_of, matched
from reeds.numbers.guard import unguarded
from reeds.numbers.quantity import Known, Quantity
from reeds.numbers.registry import QUANTITIES, REGISTRY
from reeds.numbers.words import PLAYING_TEST, Method, Refused, Stage

ANGLE = Quantity(
    key="own_1",
    name="angle of the corners",
    unit="°",
    spellings=("deg",),
    stage=Stage.FINISHING,
    high=90.0,
    method=Method.EYE,
    methods=(Method.EYE,),
    u={Method.EYE: 2.0},
)
KNOWN = Known(QUANTITIES, [ANGLE])
COLUMNS = columns_of(KNOWN)


def key_of(heading):
    return matched([heading], COLUMNS).get(0)


@pytest.mark.parametrize("key", sorted(COLUMNS))
def test_every_key_is_its_own_heading(key):
    assert key_of(key) == key


def test_what_a_person_can_read_off_is_a_column_and_what_only_the_app_tells_is_none():
    assert {one.key for one in REGISTRY.values() if one.is_typed} <= set(COLUMNS)
    assert not {"rest", "clipped", "opening_area", "unevenness"} & set(COLUMNS)
    assert {f"plays_{item}" for item in PLAYING_TEST} | {f"blows_{item}" for item in PLAYING_TEST} <= set(
        COLUMNS
    )


@pytest.mark.parametrize(
    ("heading", "key"),
    [
        ("Tie length", "tie_length"),
        ("TIE_LENGTH", "tie_length"),
        ("tie length (mm)", "tie_length"),
        ("Tie length cm", "tie_length"),
        ("tie length [in]", "tie_length"),
        ("tie length in mm", "tie_length"),
        ("  tie   length ", "tie_length"),
        ("Angle of the corners (deg)", "own_1"),
        ("Angle of the corners", "own_1"),
        ("No.", "reed"),
        ("Reed #", "reed"),
        ("Nr", "reed"),
        ("Student", "student"),
        ("Date", "made_on"),
        ("made on", "made_on"),
        ("Staple length", "nominal_staple_length"),
        ("staple_length", "staple_length"),
        ("Wet cane feels", "feel"),
        ("Low notes", "plays_low_notes"),
        ("crow", "crow"),
        ("Crow, the reed alone", "plays_crow"),
        ("tied on", "tied_on"),
        ("Notes", "note"),
        ("thickness of the tip, middle", "thickness_tip_centre"),
    ],
)
def test_headings_as_people_write_them(heading, key):
    assert key_of(heading) == key


@pytest.mark.parametrize(
    "heading", ["", "colour", "length", "tie length (g)", "tie length °", "=cmd|' /C calc'!A0"]
)
def test_what_names_nothing_is_left_to_the_person(heading):
    assert key_of(heading) is None


def test_of_two_alike_the_second_is_left_to_the_person():
    assert matched(["tie length", "Tie length (cm)", "No"], COLUMNS) == {0: "tie_length", 2: "reed"}


def read(key, typed, heading="", order=Order.OPEN):
    column, unit = COLUMNS[key], heading_of(heading).unit
    factor = factor_of(column, unit)
    return read_cell(Use(0, heading, column, unit if factor != 1.0 else "", factor, order), typed)


@pytest.mark.parametrize(
    ("heading", "typed", "mm"),
    [
        ("tie length", "72,5", 72.5),
        ("tie length (mm)", "72.5 mm", 72.5),
        ("tie length (cm)", "7,25", 72.5),
        ("tie length in", "2.84", 72.136),
        ("tie length (thou)", "2850", 72.39),
    ],
)
def test_numbers_are_read_in_the_unit_of_their_heading(heading, typed, mm):
    assert read("tie_length", typed, heading) == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize(
    ("key", "typed", "sentence"),
    [
        ("tie_length", "7.25", "Did you mean 72.5"),
        ("tie_length", "2.84 in", "is not in mm"),
        ("tie_length", "=70+2", "is not a number|several numbers"),
        ("tie_length", "72-73", "several numbers"),
        ("reed", "12a", "is no number of a reed"),
        ("reed", "0", "is no number of a reed"),
        ("reed", "99999999999", "is no number of a reed"),
        ("airtight", "maybe", "“maybe” is none of: yes, no"),
        ("feel", "squishy", "is none of: flexible, medium, hard"),
        ("plays_crow", "6", "is none of"),
        ("made_on", "soon", "is no day"),
        ("shape", "x" * 41, "more than 40 characters"),
    ],
)
def test_a_cell_that_cannot_be_right_is_answered_with_a_sentence(key, typed, sentence):
    with pytest.raises(Refused, match=sentence):
        read(key, typed)


@pytest.mark.parametrize(
    ("key", "typed", "word"),
    [
        ("airtight", "Yes", "yes"),
        ("airtight", "x", "yes"),
        ("airtight", "0", "no"),
        ("feel", "Hard", "hard"),
        ("stage", "played out", "played_out"),
        ("closing", "both sides together", "together"),
        ("plays_crow", "4", 4),
        ("plays_crow", "Speaks at once", 5),
        ("effort", "as it should be", 3),
        ("method", "dial gauge", "dial"),
    ],
)
def test_words_are_known_by_their_value_or_their_label(key, typed, word):
    assert read(key, typed) == word


def test_a_cell_that_begins_like_a_formula_is_plain_text():
    assert read("note", "=cmd|' /C calc'!A0") == "=cmd|' /C calc'!A0"
    assert read("note", "'=1+1") == "=1+1"
    assert [unguarded(one) for one in ("'-0.5", "'tis", "'", "''")] == ["-0.5", "'tis", "'", "''"]


@given(st.sampled_from([one for one in COLUMNS.values() if one.quantity and one.unit == "mm"]), st.data())
def test_a_length_in_cm_and_one_in_mm_are_the_same(column, data):
    mm = data.draw(st.integers(round(column.low * 100), round(column.high * 100))) / 100
    if not column.low <= mm <= column.high:
        return
    in_mm, in_cm = (
        read(column.key, f"{mm:.2f}"),
        read(column.key, f"{mm / 10:.3f}".replace(".", ","), "x (cm)"),
    )
    assert in_cm == pytest.approx(in_mm, abs=1e-6)
