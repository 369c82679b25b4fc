"""Photos with their marks, ready to be drawn: numbers for an SVG template, words, millimetres."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from lessons.answering.annotation import Drawn, Kind, Plane, length_mm, length_on_plane, newest_scale
from lessons.answering.models import Mark
from lessons.answering.spans import KIND as SPAN
from reeds.numbers.measured import Measured
from reeds.photo.measuring import plane_of
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo, View

LONG_SIDE = 1000
MIN_SIDE = 1
WING = 34
BADGE = 24


def in_mm(measured: Measured) -> str:
    """Return a length with its standard doubt: '27.1 ± 0.6 mm'."""
    decimals = 1 if measured.u >= 0.095 else 2
    places = {"value": number_format(round(measured.value, decimals), decimals)}
    places["doubt"] = number_format(round(measured.u, decimals), decimals)
    return _("%(value)s ± %(doubt)s mm") % places


def about(length: str) -> str:
    """Return a length as it is told where nobody has set the points that it rests on."""
    return _("about %s") % length


@dataclass(frozen=True)
class Shown:
    """One mark as the template draws it, in units of the picture's long side / 1000."""

    number: int
    drawn: Drawn
    points: tuple[tuple[int, int], ...]
    length: str

    @property
    def kind(self) -> str:
        return self.drawn.kind.value

    @property
    def path(self) -> str:
        """All points for a polyline or polygon."""
        return " ".join(f"{x},{y}" for x, y in self.points)

    @property
    def first(self) -> tuple[int, int]:
        return self.points[0]

    @property
    def last(self) -> tuple[int, int]:
        return self.points[-1]

    @property
    def head(self) -> str:
        """The two wings of an arrow's head, as points of a polyline; '' for every other kind."""
        if self.drawn.kind is not Kind.ARROW:
            return ""
        (x1, y1), (x2, y2) = self.first, self.last
        back = math.atan2(y1 - y2, x1 - x2)
        wings = [
            (x2 + WING * math.cos(back + turn), y2 + WING * math.sin(back + turn)) for turn in (-0.5, 0.5)
        ]
        ends = [wings[0], (x2, y2), wings[1]]
        return " ".join(f"{round(x)},{round(y)}" for x, y in ends)

    @property
    def badge(self) -> tuple[int, int]:
        """Where its number stands: a little up and right of its first point, within the picture."""
        x, y = self.first
        return max(BADGE, min(LONG_SIDE, x + BADGE)), max(BADGE, y - BADGE)

    @property
    def label(self) -> str:
        """What it is, in the reader's language."""
        return _(self.drawn.kind.label)

    @property
    def words(self) -> str:
        """What is said of it, its millimetres first."""
        return ": ".join(part for part in (self.length, self.drawn.words) if part)


@dataclass(frozen=True)
class MarkedPhoto:
    """One photo and the marks on it."""

    photo: Photo
    width: int
    height: int
    shown: list[Shown]
    plane: Plane | None = None

    @property
    def plane_json(self) -> str:
        """The photo's own scale for the page's script, '' for none."""
        return plane_json(self.plane)


def plane_json(plane: Plane | None) -> str:
    """Return a photo's own scale for the page's script, '' for none."""
    return json.dumps(asdict(plane)) if plane else ""


def planes_of(photos: Iterable[Photo]) -> dict[int, Plane]:
    """Return the own scale of each photo that has one, by the photo's id; in one query."""
    by_id = {photo.pk: photo for photo in photos}
    rows = PhotoMeasuring.objects.with_scale().filter(photo__in=by_id)
    found = {row.photo_id: _plane(by_id[row.photo_id], row) for row in rows}
    return {pk: plane for pk, plane in found.items() if plane is not None}


def planes_here(photos: Iterable[Photo]) -> dict[int, Plane]:
    """Return the same of photos that carry their measuring; tip-on a reed has no such scale."""
    found = {photo.pk: _plane(photo, photo.measuring) for photo in photos if hasattr(photo, "measuring")}
    return {pk: plane for pk, plane in found.items() if plane is not None}


def _plane(photo: Photo, row: PhotoMeasuring) -> Plane | None:
    row.photo = photo
    plane = None if photo.view == View.OPENING else plane_of(photo, row)
    if plane is None:
        return None
    rows = [[float(number) for number in line] for line in plane.matrix]
    return Plane(**{**vars(plane), "matrix": rows})


def marked_photos(
    photos: Iterable[Photo], marks: Iterable[Mark], planes: Mapping[int, Plane] | None = None
) -> list[MarkedPhoto]:
    """Return each photo with its marks, oldest first; they are numbered through all photos of the round.

    `planes` are their own scales where a page has them.
    """
    photos = list(photos)
    planes = planes_of(photos) if planes is None else planes
    on: dict[int, list[Drawn]] = {}
    for mark in marks:
        if mark.photo_id is None:
            continue  # a span of a take
        on.setdefault(mark.photo_id, []).append(mark.drawn)
    made, number = [], 0
    for photo in photos:
        made.append(_marked(photo, on.get(photo.pk, []), number, planes.get(photo.pk)))
        number += len(made[-1].shown)
    return made


def _marked(photo: Photo, marks: Sequence[Drawn], before: int, plane: Plane | None) -> MarkedPhoto:
    width, height = _size(photo)
    scale = newest_scale(marks)
    shown = [
        Shown(number, drawn, _placed(drawn, width, height), _said(photo, drawn, scale, plane))
        for number, drawn in enumerate(marks, before + 1)
    ]
    return MarkedPhoto(photo, width, height, shown, plane)


def _size(photo: Photo) -> tuple[int, int]:
    width, height = photo.width or LONG_SIDE, photo.height or LONG_SIDE
    longer = max(width, height)
    return (
        max(MIN_SIDE, round(width * LONG_SIDE / longer)),
        max(MIN_SIDE, round(height * LONG_SIDE / longer)),
    )


def _placed(drawn: Drawn, width: int, height: int) -> tuple[tuple[int, int], ...]:
    return tuple((round(x * width), round(y * height)) for x, y in drawn.points)


def _said(photo: Photo, drawn: Drawn, scale: Drawn | None, plane: Plane | None) -> str:
    if drawn.kind is Kind.SCALE:
        return _("known length, %s mm") % number_format(f"{drawn.known_mm or 0:g}")
    measured = _length(photo, drawn, scale, plane) if drawn.kind is Kind.LINE else None
    if measured is None:
        return ""
    return about(in_mm(measured)) if _is_unclicked(scale, plane) else in_mm(measured)


def _is_unclicked(scale: Drawn | None, plane: Plane | None) -> bool:
    """Whether nobody has set any point that the millimetres rest on."""
    return scale is None and plane is not None and not plane.clicked


def _length(photo: Photo, line: Drawn, scale: Drawn | None, plane: Plane | None) -> Measured | None:
    """By what somebody measured, else by a known length that was clicked, else by the card alone."""
    width, height = photo.width or LONG_SIDE, photo.height or LONG_SIDE
    if scale is not None and (plane is None or not plane.clicked):
        return length_mm(line, scale, width, height)
    return length_on_plane(line, plane, width, height) if plane else None


def as_plain(mark: Mark) -> dict[str, Any]:
    """Return a mark as the page's script reads it."""
    if mark.take_id is not None:
        return _span_as_plain(mark)
    drawn = mark.drawn
    return {
        "key": str(mark.key),
        "photo": mark.photo_id,
        "kind": drawn.kind.value,
        "points": [list(point) for point in drawn.points],
        "words": drawn.words,
        "known_mm": drawn.known_mm,
    }


def _span_as_plain(mark: Mark) -> dict[str, Any]:
    span = mark.span
    return {
        "key": str(mark.key),
        "take": mark.take_id,
        "kind": SPAN,
        "start": span.start_s,
        "end": span.end_s,
        "words": span.words,
    }
