"""Cells on their way out: nothing that a spreadsheet runs, nothing that cannot be read back."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.export.packing.cells import as_json, as_text, json_line
from lessons.export.packing.shapes import Column, Kind, Shape
from lessons.export.packing.writing import write_table
from reeds.numbers.guard import STARTS, guarded, unguarded

RUNS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "=cmd|' /C calc'!A0", "＝1", "-"]


@pytest.mark.parametrize("text", RUNS)
def test_a_text_that_a_spreadsheet_would_run_gets_an_apostrophe(text):
    assert as_text(text) == "'" + text
    assert unguarded(as_text(text)) == text


@pytest.mark.parametrize("text", ["", "a bag", "'tis", "0.5", "a=b", " =1", "’-", "''", "'a"])
def test_any_other_text_stays_as_it_is(text):
    assert as_text(text) == text == unguarded(text)


@pytest.mark.parametrize("text", ["'=1", "''=1", "'-"])
def test_an_apostrophe_that_was_typed_is_told_apart_from_ours(text):
    assert guarded(text) == "'" + text
    assert unguarded(guarded(text)) == text


@given(st.text(alphabet=st.sampled_from("'=+-@\t\r\n＝a1 ")) | st.text())
def test_what_is_guarded_is_found_again_and_never_runs(text):
    assert unguarded(guarded(text)) == text
    assert guarded(text)[:1] not in set(STARTS)


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        (-0.5, "-0.5"),
        (72.0, "72.0"),
        (1e-05, "1e-05"),
        (0.1 + 0.2, "0.30000000000000004"),
        (-3, "-3"),
        (True, "true"),
        (False, "false"),
        (None, ""),
        (math.nan, ""),
        (math.inf, ""),
        (dt.date(2026, 3, 2), "2026-03-02"),
        (dt.datetime(2026, 3, 2, 15, tzinfo=dt.timezone(dt.timedelta(hours=1))), "2026-03-02T15:00:00+01:00"),
    ],
)
def test_numbers_days_and_yes_and_no_are_written_as_they_are(cell, text):
    assert as_text(cell) == text


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_comes_back_to_its_last_digit(value):
    assert float(as_text(value)) == value
    assert json.loads(json_line(["value"], [value]))["value"] == value


def test_json_has_no_apostrophes_and_nothing_that_json_cannot_hold():
    assert as_json("=1") == "=1"
    assert as_json(math.inf) is None
    assert json_line(["a", "at"], ["é", dt.date(2026, 3, 2)]) == '{"a": "é", "at": "2026-03-02"}'


SHAPE = Shape(
    "things",
    "One row a thing.",
    (
        Column("id", "its number", Kind.WHOLE),
        Column("words", "words"),
        Column("deep", "what is nested", Kind.NESTED),
    ),
    key="id",
)


def written(rows):
    flat, nested = io.StringIO(newline=""), io.StringIO()
    count = write_table(SHAPE, rows, flat, nested)
    return count, flat.getvalue(), json.loads(nested.getvalue())


def test_a_table_without_rows_has_its_heading():
    assert written([]) == (0, "id,words\r\n", [])


def test_what_is_nested_is_in_the_json_alone():
    count, flat, nested = written([(1, "a", {"b": [1, 2]}), (2, "=c", None)])
    assert count == 2
    assert flat == "id,words\r\n1,a\r\n2,'=c\r\n"
    assert nested == [{"id": 1, "words": "a", "deep": {"b": [1, 2]}}, {"id": 2, "words": "=c", "deep": None}]


def test_a_row_of_another_length_is_no_row():
    with pytest.raises(ValueError, match="zip"):
        written([(1, "a")])


@given(st.lists(st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=20), max_size=5))
def test_every_text_comes_back_through_a_csv(texts):
    """RFC 4180, 2: CR LF between rows, quotes around what holds a comma, a quote or a break."""
    _count, flat, nested = written([(place, text, None) for place, text in enumerate(texts)])
    rows = list(csv.reader(io.StringIO(flat, newline="")))
    assert rows[0] == ["id", "words"]
    assert [unguarded(row[1]) for row in rows[1:]] == texts == [row["words"] for row in nested]
