"""A mark read from a page, and kept as an annotation that is made of nothing but kind, numbers and words."""

import math
import uuid

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lessons.answering.annotation import (
    MAX_POINTS,
    Drawn,
    Kind,
    MarkRefused,
    from_annotation,
    length_mm,
    newest_scale,
    read_drawn,
    to_annotation,
)

KEY = uuid.UUID("12345678-1234-5678-1234-567812345678")
ENDS = [[0.1, 0.2], [0.3, 0.4]]

fractions = st.floats(0, 1).map(lambda number: round(number, 5))
places = st.tuples(fractions, fractions)
counts = {Kind.POINT: (1, 1), Kind.OUTLINE: (3, 40), Kind.FREEHAND: (2, 40)}


@st.composite
def drawings(draw):
    kind = draw(st.sampled_from(Kind))
    least, most = counts.get(kind, (2, 2))
    points = draw(st.lists(places, min_size=least, max_size=most, unique=True))
    known = draw(st.floats(0.001, 500).map(lambda mm: round(mm, 3))) if kind is Kind.SCALE else None
    words = draw(st.text(st.characters(categories=("L", "N", "P", "S")), max_size=60))
    return Drawn(kind, tuple(points), words, known)


@settings(deadline=None)
@given(drawings())
def test_every_mark_comes_back_from_its_annotation_as_it_was(drawn):
    assert from_annotation(to_annotation(drawn, KEY)) == drawn


def test_a_mark_without_words_has_no_body():
    drawn = Drawn(Kind.POINT, ((0.5, 0.5),))
    assert "body" not in to_annotation(drawn, KEY)
    assert from_annotation(to_annotation(drawn, KEY)) == drawn


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"kind": "script", "points": ENDS},
        {"kind": "line"},
        {"kind": "line", "points": "0.1 0.2"},
        {"kind": "line", "points": [[0.1], [0.2, 0.3]]},
        {"kind": "line", "points": [[0.1, "0.2"], [0.3, 0.4]]},
        {"kind": "line", "points": [[True, False], [0.3, 0.4]]},
        {"kind": "line", "points": [[math.nan, 0.2], [0.3, 0.4]]},
        {"kind": "line", "points": [[-0.01, 0.2], [0.3, 0.4]]},
        {"kind": "line", "points": [[0.1, 0.2], [0.3, 1.001]]},
        {"kind": "line", "points": [[0.1, 0.2]]},
        {"kind": "line", "points": [[0.1, 0.2], [0.1, 0.2]]},
        {"kind": "line", "points": [*ENDS, [0.5, 0.5]]},
        {"kind": "point", "points": ENDS},
        {"kind": "outline", "points": ENDS},
        {"kind": "freehand", "points": [[0.001 * n, 0.5] for n in range(MAX_POINTS + 1)]},
        {"kind": "point", "points": [[0.1, 0.2]], "words": "a" * 1001},
        {"kind": "point", "points": [[0.1, 0.2]], "words": {"html": "<b>"}},
        {"kind": "scale", "points": ENDS},
        {"kind": "scale", "points": ENDS, "known_mm": 0},
        {"kind": "scale", "points": ENDS, "known_mm": -3},
        {"kind": "scale", "points": ENDS, "known_mm": math.inf},
        {"kind": "scale", "points": ENDS, "known_mm": True},
        {"kind": "scale", "points": ENDS, "known_mm": 501},
    ],
)
def test_what_is_not_a_mark_is_refused_with_a_sentence(given):
    with pytest.raises(MarkRefused, match=r"\.$"):
        read_drawn(given)


@pytest.mark.parametrize(
    "value",
    [
        "",
        "<svg/>",
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1" preserveAspectRatio="none">'
        "<script>alert(1)</script></svg>",
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1" preserveAspectRatio="none">'
        '<circle class="point" cx="0.1" cy="0.2" r="0.01" onload="alert(1)"/></svg>',
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1" preserveAspectRatio="none">'
        '<circle class="point" cx="7" cy="0.2" r="0.01"/></svg>',
    ],
)
def test_an_svg_that_we_did_not_write_is_never_drawn(value):
    with pytest.raises(MarkRefused):
        from_annotation({"target": {"selector": {"type": "SvgSelector", "value": value}}})


def test_what_the_page_adds_to_a_mark_is_dropped():
    drawn = read_drawn({"kind": "point", "points": [[0.1, 0.2]], "svg": "<script/>", "known_mm": 4})
    assert drawn == Drawn(Kind.POINT, ((0.1, 0.2),))


def test_control_letters_are_dropped_and_new_lines_stay():
    drawn = read_drawn({"kind": "point", "points": [[0.1, 0.2]], "words": " one\ntwo\x00\x1b "})
    assert drawn.words == "one\ntwo"


def test_a_line_twice_as_long_as_ten_known_millimetres_is_twenty():
    scale = Drawn(Kind.SCALE, ((0.0, 0.5), (0.1, 0.5)), known_mm=10)
    line = Drawn(Kind.LINE, ((0.2, 0.5), (0.4, 0.5)))
    assert length_mm(line, scale, 1600, 1200).value == pytest.approx(20)


def test_a_line_across_the_picture_counts_in_pixels_and_not_in_fractions():
    scale = Drawn(Kind.SCALE, ((0.0, 0.0), (0.5, 0.0)), known_mm=10)
    upright = Drawn(Kind.LINE, ((0.0, 0.0), (0.0, 0.5)))
    assert length_mm(upright, scale, 2000, 1000).value == pytest.approx(5)


def test_the_doubt_grows_where_the_known_length_is_short():
    line = Drawn(Kind.LINE, ((0.1, 0.5), (0.9, 0.5)))
    doubts = [
        length_mm(line, Drawn(Kind.SCALE, ((0.0, 0.1), (end, 0.1)), known_mm=100 * end), 1600, 1200).u
        for end in (0.05, 0.2, 0.8)
    ]
    assert doubts[0] > doubts[1] > doubts[2] > 0


def test_the_doubt_is_worked_out_by_hand_for_one_line():
    """480 of 1600 pixels against 160 for 10 mm: 30 mm; ends 3.394 px; (JCGM 100:2008, 5.1.6)."""
    line = Drawn(Kind.LINE, ((0.1, 0.5), (0.4, 0.5)))
    scale = Drawn(Kind.SCALE, ((0.0, 0.5), (0.1, 0.5)), known_mm=10)
    measured = length_mm(line, scale, 1600, 1200)
    relative = math.sqrt((3.394 / 480) ** 2 + (3.394 / 160) ** 2 + (0.02 / math.sqrt(3)) ** 2)
    assert measured.value == pytest.approx(30)
    assert measured.u == pytest.approx(30 * relative, rel=1e-3)


def test_the_known_length_set_last_counts():
    first, last = (Drawn(Kind.SCALE, ((0, 0), (1, 0)), known_mm=mm) for mm in (10, 20))
    assert newest_scale([first, Drawn(Kind.POINT, ((0, 0),)), last]) is last
    assert newest_scale([Drawn(Kind.POINT, ((0, 0),))]) is None
