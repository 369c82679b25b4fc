"""Every exported mark against the W3C Recommendation 'Web Annotation Data Model' of 23 February 2017.

The checks are written from the text of the recommendation; the section is named beside each.
"""

import datetime as dt
import json
import re
import uuid
import xml.etree.ElementTree as ET

import pytest

from lessons.answering import actions
from lessons.answering.annotation import Kind, read_drawn
from tests import factories as make

CONTEXT = "http://www.w3.org/ns/anno.jsonld"
IRI = re.compile(r"[a-z][a-z0-9+.-]*:\S+", re.IGNORECASE)
# 3.3.5, Motivation and Purpose
MOTIVATIONS = {
    "assessing", "bookmarking", "classifying", "commenting", "describing", "editing", "highlighting",
    "identifying", "linking", "moderating", "questioning", "replying", "tagging",
}  # fmt: skip
SVG = "{http://www.w3.org/2000/svg}"
ENDS = [[0.1, 0.2], [0.35, 0.4]]
POINTS = {"point": [[0.5, 0.25]], "outline": [*ENDS, [0.6, 0.1]], "freehand": [*ENDS, [0.6, 0.1]]}


def many(value):
    return value if isinstance(value, list) else [value]


def is_iri(value):
    return isinstance(value, str) and bool(IRI.fullmatch(value))


def check_annotation(annotation):
    """3.1 Annotations: context, exactly one id that is an IRI, type, at least one target."""
    assert CONTEXT in many(annotation["@context"])
    assert is_iri(annotation["id"])
    assert "Annotation" in many(annotation["type"])
    assert many(annotation["target"])
    assert set(many(annotation["motivation"])) <= MOTIVATIONS
    for target in many(annotation["target"]):
        check_specific_resource(target)
    for body in many(annotation.get("body", [])):
        check_textual_body(body)
    check_lifecycle(annotation)


def check_textual_body(body):
    """3.2.4 Embedded Textual Body: exactly one value; format and language at most one each, and text."""
    assert "TextualBody" in many(body["type"])
    assert isinstance(body["value"], str)
    assert body["value"]
    assert re.fullmatch(r"[a-z]+/[a-z0-9.+-]+", body["format"])
    assert re.fullmatch(r"[a-zA-Z]{2,8}(-[a-zA-Z0-9]{1,8})*", body["language"])  # BCP 47
    assert set(many(body.get("purpose", "commenting"))) <= MOTIVATIONS


def check_specific_resource(target):
    """4 Specific Resources: exactly one source, an IRI; 4.2.7 SVG Selector: well-formed SVG as its value."""
    assert is_iri(target["source"])
    selector = target["selector"]
    assert selector["type"] == "SvgSelector"
    root = ET.fromstring(selector["value"])  # noqa: S314  # our own export
    assert root.tag == f"{SVG}svg"
    assert root.attrib["viewBox"] == "0 0 1 1"
    (shape,) = root
    assert shape.tag.removeprefix(SVG) in {"circle", "line", "polyline", "polygon"}


def check_lifecycle(annotation):
    """3.3.1 Lifecycle Information: one created at most, xsd:dateTime, UTC as Z; 3.3.2 Agents."""
    created = dt.datetime.fromisoformat(annotation["created"])
    assert annotation["created"].endswith("Z")
    assert created.utcoffset() == dt.timedelta(0)
    for agent in many(annotation["creator"]):
        assert agent["type"] in {"Person", "Organization", "Software"}
        assert isinstance(agent["name"], str)


def check_collection(collection):
    """5.1 Annotation Collection and 5.2 Annotation Page, the first page within the collection."""
    assert CONTEXT in many(collection["@context"])
    assert is_iri(collection["id"])
    assert "AnnotationCollection" in many(collection["type"])
    assert isinstance(collection["label"], str)
    assert isinstance(collection["total"], int)
    assert collection["total"] >= 0
    if not collection["total"]:
        assert "first" not in collection
        return
    page = collection["first"]
    assert is_iri(page["id"])
    assert "AnnotationPage" in many(page["type"])
    assert page["startIndex"] == 0
    assert len(page["items"]) == collection["total"]
    for annotation in page["items"]:
        check_annotation(annotation)


@pytest.fixture
def exported(as_member, teacher, student):
    """Return what the address of a round's marks gives to its teacher."""
    submission = make.sent_round(student)
    answer = actions.answer_of(submission, teacher)
    photo = submission.photos.get()

    def export(*marks):
        for mark in marks:
            actions.put_mark(answer, photo, uuid.uuid4(), read_drawn(mark))
        given = as_member(teacher).get(teacher.to("lessons:marks", submission.pk))
        assert given["Content-Type"] == f'application/ld+json; profile="{CONTEXT}"'  # Web Annotation Protocol
        return json.loads(given.content)

    return export


@pytest.mark.parametrize("kind", [kind.value for kind in Kind])
@pytest.mark.parametrize("words", ["", "half of it, <b>& more</b>\nthen \u00e4 \u266d"])
def test_every_kind_of_mark_is_a_web_annotation(exported, kind, words):
    collection = exported({"kind": kind, "points": POINTS.get(kind, ENDS), "words": words, "known_mm": 12.5})
    check_collection(collection)
    (annotation,) = collection["first"]["items"]
    assert bool(annotation.get("body")) == bool(words)


def test_a_round_without_marks_is_a_collection_of_none(exported):
    collection = exported()
    check_collection(collection)
    assert collection["total"] == 0


def test_the_check_itself_would_see_an_annotation_without_a_target(exported):
    collection = exported({"kind": "point", "points": [[0, 1]], "words": "here"})
    del collection["first"]["items"][0]["target"]["source"]
    with pytest.raises(KeyError):
        check_collection(collection)
