"""The bridge from the material to the product: names it calls, and what it makes of what is told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from reeds.checks.findings import Outcome
from tests.rooms.compose import Scene, composed, hz_of
from tests.rooms.listening import Told, findings, listened, readings, sentence
from tests.rooms.reed import Stroke, a_colour
from tests.rooms.rows.line import Line, note_of, responses
from tests.rooms.rows.table import ROWS
from tests.rooms.truth import Besides


def take_of(item, numbers, rise_s=0.03, seed=1):
    strokes = [
        Stroke(hz_of(number), number, 0.8 + 1.6 * i, 1.0, rise_s=rise_s) for i, number in enumerate(numbers)
    ]
    colour = a_colour(np.random.default_rng(seed))
    return composed(Scene(item, numbers, strokes, colour), np.random.default_rng(seed + 1))


@pytest.fixture(scope="module")
def quick():
    return take_of("low_notes", (62, 60, 59, 58))


@pytest.fixture(scope="module")
def told(quick):
    return listened(quick)


def test_a_clean_list_is_told_as_it_was_played(quick, told):
    assert not told.refused
    assert told.item["asked"] == told.item["spoke"] == 4
    assert all(note_of(told, played) is note for played, note in zip(quick.played, told.notes, strict=True))
    assert all(error <= limit for error, limit in responses(quick, told))


def test_a_reed_that_answers_much_later_than_the_reference_is_found_in_both_styles(told):
    slow = listened(take_of("low_notes", (62, 60, 59, 58), rise_s=0.35))
    found = [each for each in findings(slow, told) if each.outcome is Outcome.ABOVE]
    assert len(found) == 2
    assert all("later than your reference" in sentence(each) for each in found)
    assert any(each.irreversible for each in found)


def test_a_tuning_note_becomes_a_reading():
    told = listened(take_of("tuning", (69,)))
    assert [reading.quantity for reading in readings(told)] == ["a4_cents"]


def test_a_refused_take_says_only_its_sentence():
    empty = take_of("tuning", (69,))
    told = listened(type(empty)(empty.samples[:100], empty.rate, "tuning", (69,), 442.0, empty.strokes))
    assert told.refused
    assert told.notes == []
    assert told.item == {}


def test_words_are_looked_for_in_all_that_is_said():
    also = [{"kind": "voices", "start_s": 7.2, "end_s": 9.0}]
    told = Told({"warnings": ["The room rings."], "also": also})
    assert told.says("voices or music from 0:07")
    assert told.says("rings")
    assert not told.says("count")


@pytest.mark.parametrize(("hz", "start_s", "met"), [(221.0, 0.9, True), (440.0, 2.0, False)])
def test_what_else_sounds_is_right_only_by_its_pitch_and_its_beginning(quick, told, hz, start_s, met):
    take = replace(quick, besides=(Besides("speech", -10.0, 0.2, 5.0),))
    also = [{"kind": "tone", "hz": hz, "start_s": 0.0, "end_s": 5.0}]
    also += [{"kind": "voices", "hz": None, "start_s": start_s, "end_s": 5.0}]
    said = replace(told, result={**told.result, "also": also})
    lines = {line.condition: line for line in ROWS["else"](lambda _condition: [((take,), (said,))])}
    assert lines["tone of 220 Hz, its pitch"].met is met
    assert lines["talk before, from when"].met is met
    assert lines["speech"].met
    assert not lines["nothing else: quiet"].met


def test_every_row_gives_lines_on_a_small_number_of_takes(quick, told):
    """The takes are not a row's own here, so that only the shape of what it gives is seen."""

    def one(_condition):
        return [((quick, quick), (told, told))]

    for name in (
        "beside",
        "other",
        "lists",
        "moved",
        "attacks",
        "tremolo",
        "crow",
        "staccato",
        "failures",
        "band",
        "doubts",
    ):
        lines = list(ROWS[name](one))
        assert lines
        assert all(isinstance(line, Line) and line.reached for line in lines), name
