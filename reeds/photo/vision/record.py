"""What is stored of a measured photo: frozen records, each with `to_json` and the `from_json` that reads it.

Each is a row's JSON columns by name; the pure types they are made of have the same two methods. What is
written is rounded (places to 0.01 px, lengths to 0.1 um), so that reading and writing again changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Self

from reeds.numbers.measured import Measured
from reeds.photo.vision.camera import AxisCamera
from reeds.photo.vision.card import MarkersFound
from reeds.photo.vision.lengths import Clicks, Points

Json = dict[str, Any]
PX_DECIMALS = 2
MM_DECIMALS = 4
MARKS_OF_OPENING = "opening"


@dataclass(frozen=True)
class ReedFound:
    """What the worker found on a photo of a lying reed.

    Attributes
    ----------
    markers : MarkersFound or None
        None where the card was not found.
    proposed : Clicks
        The landmarks that were sure, each with its doubt.
    """

    markers: MarkersFound | None = None
    proposed: Clicks = field(default_factory=lambda: Clicks({}))

    def to_json(self) -> Json:
        """Return the columns that hold it."""
        return {
            "markers": self.markers.to_json() if self.markers else None,
            "proposed": self.proposed.to_json(),
        }

    @classmethod
    def from_json(cls, columns: Mapping[str, Any]) -> Self:
        """Return what `to_json` wrote."""
        markers = columns["markers"]
        found = MarkersFound.from_json(markers) if markers else None
        return cls(found, Clicks.from_json(columns["proposed"]))


@dataclass(frozen=True)
class MarksBeside:
    """What was clicked beside the reed: a ruler's two marks and their mm, or an ID-1 card's four corners."""

    mm: float = 0.0
    points: tuple[tuple[float, float], ...] = ()

    def to_json(self) -> Json:
        """Return the column that holds it."""
        return {"mm": self.mm, "points": [list(point) for point in self.points]}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> Self:
        """Return what `to_json` wrote; nothing clicked where another thing or nothing was stored."""
        return cls(stored.get("mm", 0.0), tuple((x, y) for x, y in stored.get("points", [])))


@dataclass(frozen=True)
class OutlineSet:
    """Where a person left the points of the opening's outline, px by name; in the column of MarksBeside."""

    points: Points = field(default_factory=dict)

    def to_json(self) -> Json:
        """Return the column that holds it."""
        return {MARKS_OF_OPENING: {name: list(place) for name, place in self.points.items()}}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> Self:
        """Return what `to_json` wrote; no points where another thing or nothing was stored."""
        return cls(_points(stored.get(MARKS_OF_OPENING, {})))


@dataclass(frozen=True)
class LengthsKept:
    """What a person kept of a photo, and all it takes to show it again.

    Attributes
    ----------
    beside : MarksBeside
    heights : (foot, tip) or None
        Of the reed's axis above the table as they were typed, mm; None for the usual ones.
    landmarks : mapping of name to (x, y)
        px of the upright picture.
    camera : AxisCamera or None
        None where nothing was measured yet.
    lengths : mapping of name to Measured
        mm.
    """

    beside: MarksBeside = field(default_factory=MarksBeside)
    heights: tuple[float, float] | None = None
    landmarks: Points = field(default_factory=dict)
    camera: AxisCamera | None = None
    lengths: Mapping[str, Measured] = field(default_factory=dict)

    def to_json(self) -> Json:
        """Return the columns that hold it."""
        return {
            "reference": self.beside.to_json(),
            "heights": list(self.heights or ()),
            "landmarks": {
                name: [round(v, PX_DECIMALS) for v in place] for name, place in self.landmarks.items()
            },
            "camera": self.camera.to_json() if self.camera else None,
            "lengths": {
                name: [round(one.value, MM_DECIMALS), round(one.u, MM_DECIMALS)]
                for name, one in self.lengths.items()
            },
        }

    @classmethod
    def from_json(cls, columns: Mapping[str, Any]) -> Self:
        """Return what `to_json` wrote."""
        heights, camera = columns["heights"], columns["camera"]
        return cls(
            MarksBeside.from_json(columns["reference"]),
            (heights[0], heights[1]) if heights else None,
            _points(columns["landmarks"]),
            AxisCamera.from_json(camera) if camera else None,
            {name: Measured(*both) for name, both in columns["lengths"].items()},
        )


def _points(stored: Mapping[str, Any]) -> Points:
    return {name: (place[0], place[1]) for name, place in stored.items()}
