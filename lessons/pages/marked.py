"""Photos with their marks, ready to be drawn: numbers for an SVG template, words, millimetres."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from lessons.annotation import Drawn, Kind, length_mm, newest_scale
from lessons.models import Mark
from reeds.measured import Measured
from reeds.models import Photo

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


def marked_photos(photos: Iterable[Photo], marks: Iterable[Mark]) -> list[MarkedPhoto]:
    """Return each photo with its marks, oldest first; they are numbered through all photos of the round."""
    on: dict[int, list[Drawn]] = {}
    for mark in marks:
        if mark.photo_id is None:
            continue  # a span of a take
        on.setdefault(mark.photo_id, []).append(mark.drawn)
    made, number = [], 0
    for photo in photos:
        made.append(_marked(photo, on.get(photo.pk, []), number))
        number += len(made[-1].shown)
    return made


def _marked(photo: Photo, marks: Sequence[Drawn], before: int) -> MarkedPhoto:
    width, height = _size(photo)
    scale = newest_scale(marks)
    shown = [
        Shown(number, drawn, _placed(drawn, width, height), _length(drawn, scale, width, height))
        for number, drawn in enumerate(marks, before + 1)
    ]
    return MarkedPhoto(photo, width, height, shown)


def _size(photo: Photo) -> tuple[int, int]:
    width, height = photo.width or LONG_SIDE, photo.height or LONG_SIDE
    longer = max(width, height)
    return (
        max(MIN_SIDE, round(width * LONG_SIDE / longer)),
        max(MIN_SIDE, round(height * LONG_SIDE / longer)),
    )


def _placed(drawn: Drawn, width: int, height: int) -> tuple[tuple[int, int], ...]:
    return tuple((round(x * width), round(y * height)) for x, y in drawn.points)


def _length(drawn: Drawn, scale: Drawn | None, width: int, height: int) -> str:
    if drawn.kind is Kind.SCALE:
        return _("known length, %s mm") % number_format(f"{drawn.known_mm or 0:g}")
    if drawn.kind is not Kind.LINE or scale is None:
        return ""
    measured = length_mm(drawn, scale, width, height)
    return in_mm(measured) if measured else ""


def as_plain(mark: Mark) -> dict[str, Any]:
    """Return a mark as the page's script reads it."""
    drawn = mark.drawn
    return {
        "key": str(mark.key),
        "photo": mark.photo_id,
        "kind": drawn.kind.value,
        "points": [list(point) for point in drawn.points],
        "words": drawn.words,
        "known_mm": drawn.known_mm,
    }
