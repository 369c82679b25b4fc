"""A mark on a photo and the W3C Web Annotation it is kept as; each is made from the other, nothing is echoed.

Convention: a point is (x, y) in fractions of the upright picture, 0 to 1, from its left and its top.
"""

from __future__ import annotations

import math
import re
import uuid
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from reeds.numbers.measured import SQRT3, Measured
from reeds.numbers.words import Refused
from reeds.numbers.words import gettext_noop as _

CONTEXT = "http://www.w3.org/ns/anno.jsonld"
MEDIA_TYPE = f'application/ld+json; profile="{CONTEXT}"'
SVG_HEAD = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1" preserveAspectRatio="none">'
SVG_FOOT = "</svg>"

MAX_WORDS = 1000
MAX_POINTS = 400
MAX_KNOWN_MM = 500.0
# where a person sets a point: within so much of the longer side of the picture; own choice, no source
CLICK = 0.0015
# what was clicked as known and what is measured need not lie equally far from the lens: limits of +-2 %,
# which 5 mm in height at 250 mm make; own choice, no source. u = a / sqrt(3): JCGM 100:2008, 4.3.7
U_PLANE = 0.02 / SQRT3
# a line so near to the reed is taken to be drawn on it, mm: half its width and a little; own choice
BESIDE_MM = 5.0

Point = tuple[float, float]


class Kind(StrEnum):
    """What can be drawn."""

    POINT = "point"
    LINE = "line"
    ARROW = "arrow"
    OUTLINE = "outline"
    FREEHAND = "freehand"
    SCALE = "scale"  # a line over a known length: it gives the photo's millimetres

    @property
    def label(self) -> str:
        """The marked name of the kind."""
        return _LABELS[self]


_LABELS = {
    Kind.POINT: _("point"),
    Kind.LINE: _("line"),
    Kind.ARROW: _("arrow"),
    Kind.OUTLINE: _("outline"),
    Kind.FREEHAND: _("freehand"),
    Kind.SCALE: _("known length"),
}
_HOW_MANY = {
    Kind.POINT: (1, 1),
    Kind.LINE: (2, 2),
    Kind.ARROW: (2, 2),
    Kind.OUTLINE: (3, MAX_POINTS),
    Kind.FREEHAND: (2, MAX_POINTS),
    Kind.SCALE: (2, 2),
}

UNREADABLE = _("This mark cannot be read.")
OUTSIDE = _("This mark lies outside the photo.")
TOO_MANY = _("This mark has too many points. Draw it in parts.")
TOO_FEW = _("This mark is too small. Draw it again, larger.")
TOO_LONG = _("These words are too long for a note on a photo: up to 1000 letters.")
NO_LENGTH = _("Type the known length in millimetres, more than 0 and up to 500.")


class MarkRefused(Refused):
    """A mark that is not taken."""


@dataclass(frozen=True)
class Drawn:
    """One mark.

    Attributes
    ----------
    kind : Kind
        What was drawn.
    points : tuple of (x, y)
        Fractions of the upright picture; 1 for a point, 2 for line, arrow and known length, 3 or more for
        an outline, 2 or more for freehand, 400 at most.
    words : str
        What is said of it, at most 1000 letters, '' for nothing.
    known_mm : float or None
        Only for a known length: how long it is, mm.
    """

    kind: Kind
    points: tuple[Point, ...]
    words: str = ""
    known_mm: float | None = None


def read_drawn(given: Mapping[str, Any]) -> Drawn:
    """Return the mark that a page sent as plain data (kind, points, words, known_mm).

    Raises MarkRefused, with a sentence, for whatever is not exactly that; keys it does not know are dropped.
    """
    try:
        kind = Kind(given.get("kind", ""))
    except ValueError:
        raise MarkRefused(UNREADABLE) from None
    return Drawn(kind, _read_points(kind, given.get("points")), read_words(given), _read_known(kind, given))


def _read_points(kind: Kind, given: object) -> tuple[Point, ...]:
    if not isinstance(given, list):
        raise MarkRefused(UNREADABLE)
    least, most = _HOW_MANY[kind]
    if len(given) > most:
        raise MarkRefused(TOO_MANY)
    points = tuple(_read_point(point) for point in given)
    if len(points) < least or (least > 1 and len(set(points)) < 2):
        raise MarkRefused(TOO_FEW)
    return points


def _read_point(given: object) -> Point:
    if not isinstance(given, list) or len(given) != 2:
        raise MarkRefused(UNREADABLE)
    x, y = (_read_number(number) for number in given)
    if not (0 <= x <= 1 and 0 <= y <= 1):
        raise MarkRefused(OUTSIDE)
    return round(x, 5), round(y, 5)


def _read_number(given: object) -> float:
    if isinstance(given, bool) or not isinstance(given, int | float) or not math.isfinite(given):
        raise MarkRefused(UNREADABLE)
    return float(given)


def read_words(given: Mapping[str, Any]) -> str:
    """Return what is said of a mark, without what cannot be printed; MarkRefused if it is too long."""
    words = given.get("words", "")
    if not isinstance(words, str):
        raise MarkRefused(UNREADABLE)
    words = "".join(letter for letter in words if letter.isprintable() or letter == "\n").strip()
    if len(words) > MAX_WORDS:
        raise MarkRefused(TOO_LONG)
    return words


def _read_known(kind: Kind, given: Mapping[str, Any]) -> float | None:
    if kind is not Kind.SCALE:
        return None
    known = given.get("known_mm")
    if isinstance(known, bool) or not isinstance(known, int | float) or not 0 < known <= MAX_KNOWN_MM:
        raise MarkRefused(NO_LENGTH)
    return float(known)


# --- the shape it is kept in -----------------------------------------------------------------------


def _number(value: float) -> str:
    return f"{value:.5f}".rstrip("0").rstrip(".")


def _ends(drawn: Drawn) -> str:
    (x1, y1), (x2, y2) = drawn.points
    return f'x1="{_number(x1)}" y1="{_number(y1)}" x2="{_number(x2)}" y2="{_number(y2)}"'


def _many(drawn: Drawn) -> str:
    return 'points="{}"'.format(" ".join(f"{_number(x)},{_number(y)}" for x, y in drawn.points))


def _circle(drawn: Drawn) -> str:
    ((x, y),) = drawn.points
    return f'<circle class="point" cx="{_number(x)}" cy="{_number(y)}" r="0.01"/>'


def _line(drawn: Drawn) -> str:
    return f'<line class="{drawn.kind}" {_ends(drawn)}/>'


def _polygon(drawn: Drawn) -> str:
    return f'<polygon class="outline" {_many(drawn)}/>'


def _polyline(drawn: Drawn) -> str:
    return f'<polyline class="freehand" {_many(drawn)}/>'


def _known(drawn: Drawn) -> str:
    return f'<line class="scale" data-mm="{_number(drawn.known_mm or 0)}" {_ends(drawn)}/>'


_ELEMENTS: dict[Kind, Callable[[Drawn], str]] = {
    Kind.POINT: _circle,
    Kind.LINE: _line,
    Kind.ARROW: _line,
    Kind.OUTLINE: _polygon,
    Kind.FREEHAND: _polyline,
    Kind.SCALE: _known,
}


def svg_of(drawn: Drawn) -> str:
    """Return the mark as an SVG document of one shape, in fractions of the picture (viewBox 0 0 1 1)."""
    return f"{SVG_HEAD}{_ELEMENTS[drawn.kind](drawn)}{SVG_FOOT}"


def to_annotation(drawn: Drawn, key: uuid.UUID, language: str = "en") -> dict[str, Any]:
    """Return the mark as a Web Annotation without what only an export knows: address, maker and time.

    Source: W3C Recommendation 'Web Annotation Data Model', 23 February 2017; 4.2.7 for the selector.
    """
    return annotation_of(drawn.words, key, {"type": "SvgSelector", "value": svg_of(drawn)}, language)


def annotation_of(words: str, key: uuid.UUID, selector: Mapping[str, str], language: str) -> dict[str, Any]:
    """Return words beside the part of a thing that `selector` names; without words there is no body."""
    body = {
        "type": "TextualBody",
        "value": words,
        "format": "text/plain",
        "language": language,
        "purpose": "commenting",
    }
    return {
        "@context": CONTEXT,
        "id": key.urn,
        "type": "Annotation",
        "motivation": "commenting",
        **({"body": [body]} if words else {}),
        "target": {"type": "SpecificResource", "selector": dict(selector)},
    }


_NUM = r"[0-9]+(?:\.[0-9]+)?"
_ENDS = rf'x1="(?P<x1>{_NUM})" y1="(?P<y1>{_NUM})" x2="(?P<x2>{_NUM})" y2="(?P<y2>{_NUM})"'
_SHAPE = re.compile(
    re.escape(SVG_HEAD)
    + "(?:"
    + rf'<circle class="point" cx="(?P<cx>{_NUM})" cy="(?P<cy>{_NUM})" r="0\.01"/>'
    + rf'|<line class="(?P<two>line|arrow|scale)"(?: data-mm="(?P<mm>{_NUM})")? {_ENDS}/>'
    + r'|<poly(?:gon|line) class="(?P<many>outline|freehand)" points="(?P<points>[0-9., ]+)"/>'
    + ")"
    + re.escape(SVG_FOOT)
)


def from_annotation(annotation: Mapping[str, Any]) -> Drawn:
    """Return the mark that `to_annotation` wrote.

    Raises MarkRefused for any other annotation: what is drawn on a page comes from kind and numbers alone,
    never from somebody's SVG.
    """
    selector = (annotation.get("target") or {}).get("selector") or {}
    found = _SHAPE.fullmatch(str(selector.get("value", "")))
    if found is None:
        raise MarkRefused(UNREADABLE)
    return read_drawn({**_shape(found.groupdict()), "words": words_of(annotation)})


def words_of(annotation: Mapping[str, Any]) -> str:
    """Return what is said beside the mark, '' for nothing."""
    return next((str(body.get("value", "")) for body in annotation.get("body", [])), "")


def _shape(found: Mapping[str, Any]) -> dict[str, Any]:
    if found["cx"]:
        return {"kind": Kind.POINT, "points": [[float(found["cx"]), float(found["cy"])]]}
    if found["many"]:
        pairs = [pair.split(",") for pair in found["points"].split()]
        return {"kind": found["many"], "points": [[float(number) for number in pair] for pair in pairs]}
    points = [[float(found["x1"]), float(found["y1"])], [float(found["x2"]), float(found["y2"])]]
    return {"kind": found["two"], "points": points, "known_mm": float(found["mm"] or 0)}


# --- the way out -----------------------------------------------------------------------------------


def exported(annotation: Mapping[str, Any], *, source: str, creator: str, created: str) -> dict[str, Any]:
    """Return a kept annotation with what an export adds.

    source      the photo's whole address
    creator     the name of who made the mark
    created     when, as xsd:dateTime with its time zone
    """
    target = {**annotation["target"], "source": source}
    maker = {"type": "Person", "name": creator}
    return {**annotation, "target": target, "creator": maker, "created": created}


def collection(address: str, label: str, annotations: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Return annotations as an AnnotationCollection of one page, the page within it.

    Source: W3C Recommendation 'Web Annotation Data Model', 23 February 2017, 5.1 and 5.2.
    """
    page = {"id": f"{address}#page", "type": "AnnotationPage", "startIndex": 0, "items": list(annotations)}
    head = {"@context": CONTEXT, "id": address, "type": "AnnotationCollection", "label": label}
    return {**head, "total": len(annotations), **({"first": page} if annotations else {})}


# --- millimetres -----------------------------------------------------------------------------------


def _pixels(drawn: Drawn, width: float, height: float) -> float:
    (x1, y1), (x2, y2) = drawn.points
    return math.hypot((x2 - x1) * width, (y2 - y1) * height)


def length_mm(line: Drawn, scale: Drawn, width: float, height: float) -> Measured | None:
    """Return how long a line on a photo is, mm, by a known length clicked on the same photo.

    line, scale     two points each; the scale with its `known_mm`
    width, height   of the picture, in any one unit
    returns         value and standard uncertainty, mm; None where either has no length

    The doubt is that of setting four points and of the reed and the scale lying unequally far away:
    relative uncertainties of a product add in squares (JCGM 100:2008, 5.1.6).
    """
    measured, known = _pixels(line, width, height), _pixels(scale, width, height)
    if not measured or not known or scale.known_mm is None:
        return None
    u_ends = math.sqrt(2) * CLICK * max(width, height)
    relative = math.hypot(u_ends / measured, u_ends / known, U_PLANE)
    value = measured / known * scale.known_mm
    return Measured(value, value * relative)


@dataclass(frozen=True)
class Plane:
    """A photo's own scale, as plain numbers that a page's script reads as well.

    Attributes
    ----------
    matrix : 3 rows of 3
        Pixels of the upright picture to mm along and across the reed's axis from its foot.
    share, off_reed : float
        Standard uncertainty of a length along the reed, as a share of it; and the further share where an
        end lies off the reed, at a height that nobody knows.
    reach : (from, to)
        How far the reed goes along the axis, mm.
    uneven_mm : float
        The further standard uncertainty of any length, mm: the reed's surface is no plane.
    window : (left, top, right, bottom)
        The part of the plane where the reed is, mm.
    clicked : bool
        Whether a person set the points it rests on; else the card was found and nobody has.
    """

    matrix: Sequence[Sequence[float]]
    share: float
    off_reed: float
    reach: tuple[float, float]
    uneven_mm: float = 0.0
    window: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    clicked: bool = True

    def at(self, x: float, y: float) -> Point:
        """Return where a pixel lies, mm along and across."""
        a, b, w = (row[0] * x + row[1] * y + row[2] for row in self.matrix)
        return a / w, b / w

    def is_on_reed(self, place: Point) -> bool:
        """Whether a place lies on the reed or next to it."""
        start, stop = self.reach
        return start - BESIDE_MM <= place[0] <= stop + BESIDE_MM and abs(place[1]) <= BESIDE_MM


def length_on_plane(line: Drawn, plane: Plane, width: float, height: float) -> Measured | None:
    """Return how long a line on a measured photo is, mm, by that photo's own scale.

    line            two points
    width, height   of the upright picture, px
    returns         value and standard uncertainty, mm; None where the line has no length

    The doubt is that of setting two points, of the photo's scale, of the surface that is no plane, and,
    where an end lies off the reed, of its height; they add in squares (JCGM 100:2008, 5.1.2).
    """
    ends = [plane.at(x * width, y * height) for x, y in line.points]
    value, drawn = math.dist(*ends), _pixels(line, width, height)
    if not value or not drawn:
        return None
    u_ends = math.sqrt(2) * CLICK * max(width, height) * value / drawn
    off = 0.0 if all(plane.is_on_reed(end) for end in ends) else plane.off_reed
    return Measured(value, math.hypot(u_ends, value * plane.share, value * off, plane.uneven_mm))


def newest_scale(marks: Iterable[Drawn]) -> Drawn | None:
    """Return the known length that counts among a photo's marks, oldest first: the last one set."""
    scales = [drawn for drawn in marks if drawn.kind is Kind.SCALE]
    return scales[-1] if scales else None
