"""W3C Recommendation 'Media Fragments URI 1.0 (basic)', 25 September 2012, 4.2.1: t=start,end in npt seconds.

And W3C Recommendation 'Web Annotation Data Model', 23 February 2017, 4.2.1: a FragmentSelector says to which
specification its value conforms. The grammar below is typed from the first of the two (npt-sec).
"""

import re
import uuid

import pytest

from lessons.answering.spans import Span, span_annotation

# npt-sec = 1*DIGIT [ "." *DIGIT ]; timesegment = "t=" begin "," end, begin before end
NPT = r"\d+(?:\.\d*)?"
TEMPORAL = re.compile(rf"t=(?P<begin>{NPT}),(?P<end>{NPT})")
KEY = uuid.UUID("12345678-1234-5678-1234-567812345678")


@pytest.mark.parametrize(
    ("span", "value"),
    [
        (Span(10.0, 20.0), "t=10,20"),
        (Span(0.0, 0.05), "t=0,0.05"),
        (Span(1.234, 179.999), "t=1.234,179.999"),
        (Span(100.0, 110.5), "t=100,110.5"),
    ],
)
def test_a_span_is_a_temporal_fragment(span, value):
    selector = span_annotation(span, KEY)["target"]["selector"]
    assert selector["value"] == value
    found = TEMPORAL.fullmatch(selector["value"])
    assert float(found["begin"]) == span.start_s
    assert float(found["end"]) == span.end_s
    assert float(found["begin"]) < float(found["end"])


def test_the_selector_says_what_its_value_conforms_to():
    annotation = span_annotation(Span(1.0, 2.0, "late"), KEY, "de")
    assert annotation["target"]["selector"]["type"] == "FragmentSelector"
    # the address that table 4.2.1 of the data model names for media fragments
    assert annotation["target"]["selector"]["conformsTo"] == "http://www.w3.org/TR/media-frags/"
    assert annotation["body"] == [
        {
            "type": "TextualBody",
            "value": "late",
            "format": "text/plain",
            "language": "de",
            "purpose": "commenting",
        }
    ]
    assert annotation["id"] == KEY.urn
