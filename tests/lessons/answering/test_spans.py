"""Spans of a recording as they are read and kept; the file's shape is checked in tests/outside."""

import uuid

import pytest

from lessons.answering.annotation import MarkRefused
from lessons.answering.spans import Span, read_span, span_annotation, span_of

GIVEN = {"kind": "span", "start": 1.2, "end": 2.5, "words": "late"}


def test_a_span_comes_back_as_it_was_kept():
    span = read_span(GIVEN, 10.0)
    assert span == Span(1.2, 2.5, "late")
    assert span_of(span_annotation(span, uuid.uuid4())) == span


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"kind": "point"}, "cannot be read"),
        ({"start": "1"}, "cannot be read"),
        ({"end": float("nan")}, "cannot be read"),
        ({"start": True}, "cannot be read"),
        ({"start": -0.1}, "outside the recording"),
        ({"end": 10.2}, "outside the recording"),
        ({"end": 1.21}, "too short"),
        ({"start": 2.5, "end": 1.2}, "too short"),
        ({"words": "x" * 1001}, "too long"),
        ({"words": 3}, "cannot be read"),
    ],
)
def test_what_is_no_span_is_refused(change, sentence):
    with pytest.raises(MarkRefused, match=sentence):
        read_span({**GIVEN, **change}, 10.0)


@pytest.mark.parametrize(
    "selector",
    [{}, {"type": "SvgSelector", "value": "t=1,2"}, {"type": "FragmentSelector", "value": "xywh=1,2"}],
)
def test_another_annotation_is_no_span(selector):
    with pytest.raises(MarkRefused):
        span_of({"target": {"selector": selector}})
