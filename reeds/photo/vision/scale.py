"""Where a photo's millimetres come from: the card, a ruler or an ID-1 card, all three used in one way.

A scale is made from what was seen or clicked beside the reed. `solve` takes the landmarks to the camera and
to how finely was clicked, `lengths` takes landmarks with their doubt to millimetres, and `matrices` are what
a page multiplies by while a finger drags. Page and shell differ only in what they say of a landmark's doubt.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from reeds.numbers.late import np
from reeds.numbers.measured import Measured
from reeds.photo.vision.arrays import Floats
from reeds.photo.vision.camera import AxisCamera, Frame, Solved, exactly
from reeds.photo.vision.card_view import CardView, refuse_off_card
from reeds.photo.vision.id1 import ID1_LIFT_MM, U_ID1_SHARE, camera_by_id1
from reeds.photo.vision.lengths import Axis, Clicks, Points, measure, px_per_mm, scatter
from reeds.photo.vision.projection import agreeing, landmark_matrices
from reeds.photo.vision.ruler import (
    NOT_BESIDE,
    NOT_LEVEL,
    KnownLength,
    is_beside,
    lengths_by_known,
    level_camera,
)
from reeds.photo.vision.solve import NO_FOCAL

# how sharply each place can be set by hand, mm: own choice, no source; tip and corners are edges against
# the card, the others are changes of colour on round or rough things
U_SET_MM = {"tip": 0.05, "tip_left": 0.07, "tip_right": 0.07, "staple_foot": 0.1, "thread_end": 0.12}
U_SET_OTHERS_MM = 0.2
UNMOVED_PX = 0.05


@dataclass(frozen=True)
class Sighting:
    """What a scale says of a photo once the landmarks are known.

    Attributes
    ----------
    solved : Solved
        The camera above the plane that the scale lies in.
    axis : Axis
        The reed's axis above that same plane, mm.
    noise_px : float
        Standard uncertainty of each coordinate of a click, px, as the clicks themselves show it.
    """

    solved: Solved
    axis: Axis
    noise_px: float

    @property
    def camera(self) -> AxisCamera:
        """The camera and the axis as a page and a stored row keep them."""
        return AxisCamera(self.solved.numbers, (self.axis.foot.value, self.axis.tip.value))

    def matrices(self, points: Points) -> dict[str, Floats]:
        """Return `projection.landmark_matrices` of this camera."""
        return landmark_matrices(self.solved.numbers, self.solved.frame, points, self.camera.heights)


class PhotoScale(Protocol):
    """What page and shell ask of a scale; `points` are landmarks in px by name, `axis` is above the table."""

    @property
    def warnings(self) -> tuple[str, ...]:
        """Remarks for the person, one sentence each."""

    def solve(self, points: Points, axis: Axis) -> Sighting:
        """Return the camera; PhotoRefused where what was seen or clicked makes no sense."""

    def lengths(self, seen: Sighting, clicks: Clicks) -> dict[str, Measured]:
        """Return every length in mm that the landmarks allow; each of them needs its doubt in `clicks`."""

    def matrices(self, seen: Sighting, points: Points, lengths: Mapping[str, Measured]) -> dict[str, Floats]:
        """Return by landmark the (3, 3) matrix from its pixel to mm on the reed, agreeing with `lengths`."""


@dataclass(frozen=True)
class CardScale:
    """By the printed card, as far as it was seen."""

    view: CardView

    @property
    def warnings(self) -> tuple[str, ...]:
        return self.view.warnings

    def solve(self, points: Points, axis: Axis) -> Sighting:
        refuse_off_card(self.view, points)
        return _sighted(self.view.solved, points, self.view.paper.under(axis))

    def lengths(self, seen: Sighting, clicks: Clicks) -> dict[str, Measured]:
        return measure(seen.solved, clicks, seen.axis, self.view.factor) if clicks.points else {}

    def matrices(self, seen: Sighting, points: Points, _lengths: Mapping[str, Measured]) -> dict[str, Floats]:
        return seen.matrices(points)


@dataclass(frozen=True)
class RulerScale:
    """By two clicks on a known length beside the reed."""

    known: KnownLength
    frame: Frame
    focal_35mm: float | None

    @property
    def warnings(self) -> tuple[str, ...]:
        return (NOT_LEVEL, *_unknown(self.focal_35mm))

    def solve(self, points: Points, axis: Axis) -> Sighting:
        level = level_camera(self.known, self.frame, self.focal_35mm)
        return _sighted(exactly(level, self.frame), points, axis)

    def lengths(self, seen: Sighting, clicks: Clicks) -> dict[str, Measured]:
        if not clicks.points:
            return {}
        return lengths_by_known(self.known, clicks, self.frame, self.focal_35mm, seen.axis, seen.noise_px)

    def matrices(self, seen: Sighting, points: Points, lengths: Mapping[str, Measured]) -> dict[str, Floats]:
        return agreeing(seen.matrices(points), points, lengths)


@dataclass(frozen=True)
class Id1Scale:
    """By the four corners of an ID-1 card beside the reed, (x, y) px each, in turn around it."""

    corners: tuple[tuple[float, float], ...]
    frame: Frame
    focal_35mm: float | None

    @property
    def warnings(self) -> tuple[str, ...]:
        return _unknown(self.focal_35mm)

    def solve(self, points: Points, axis: Axis) -> Sighting:
        low = Axis(axis.foot - ID1_LIFT_MM, axis.tip - ID1_LIFT_MM)
        solved, noise = camera_by_id1(self.corners, points, self.frame, self.focal_35mm, low)
        return Sighting(solved, low, noise)

    def lengths(self, seen: Sighting, clicks: Clicks) -> dict[str, Measured]:
        of_card = Measured(1.0, U_ID1_SHARE)
        return measure(seen.solved, clicks, seen.axis, of_card) if clicks.points else {}

    def matrices(self, seen: Sighting, points: Points, _lengths: Mapping[str, Measured]) -> dict[str, Floats]:
        return seen.matrices(points)


def remarks(scale: PhotoScale, points: Points) -> tuple[str, ...]:
    """Return what there is to say to the person of a scale and of how it lies to the reed."""
    astray = isinstance(scale, RulerScale) and not is_beside(scale.known, points)
    return (*scale.warnings, NOT_BESIDE) if astray else scale.warnings


def lengths_by(scale: PhotoScale, clicks: Clicks, axis: Axis) -> dict[str, Measured]:
    """Return the lengths by a scale, mm.

    Parameters
    ----------
    scale : PhotoScale
    clicks : Clicks
        A landmark without a doubt of its own gets the one that the landmarks together show.
    axis : Axis
        The reed's axis above the table, mm.

    Raises
    ------
    PhotoRefused
        As the scale's `solve`.
    """
    seen = scale.solve(clicks.points, axis)
    u_px = dict.fromkeys(clicks.points, seen.noise_px) | dict(clicks.u_px)
    return scale.lengths(seen, Clicks(clicks.points, u_px))


def u_by_hand(seen: Sighting, points: Points) -> dict[str, float]:
    """Return the standard uncertainty, px by name, of landmarks that a person set on the screen."""
    if not points:
        return {}
    per_mm = px_per_mm(seen.solved, points, seen.axis)
    return {
        name: float(np.hypot(seen.noise_px, U_SET_MM.get(name, U_SET_OTHERS_MM) * per_mm)) for name in points
    }


def u_left_alone(proposed: Clicks, points: Points) -> dict[str, float]:
    """Return the proposal's own uncertainty, px by name, of the landmarks that nobody moved."""
    both = {name: (place, proposed.points[name]) for name, place in points.items() if name in proposed.points}
    return {
        name: proposed.u_px[name]
        for name, (here, there) in both.items()
        if np.hypot(there[0] - here[0], there[1] - here[1]) <= UNMOVED_PX
    }


def _sighted(solved: Solved, points: Points, axis: Axis) -> Sighting:
    return Sighting(solved, axis, scatter(solved, points, axis).noise_px())


def _unknown(focal_35mm: float | None) -> tuple[str, ...]:
    return () if focal_35mm else (NO_FOCAL,)
