"""The axis plane as one 3x3 matrix, which a page can apply by itself while a finger drags a landmark."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self

import cv2
import numpy as np

from reeds.numbers.measured import Measured
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.camera import Frame, meet_plane
from reeds.photo.vision.lengths import LENGTHS, ON_AXIS, Points, axis_plane


@dataclass(frozen=True)
class AxisCamera:
    """A camera and the reed's axis before it: what takes pixels to mm along the reed.

    Attributes
    ----------
    numbers : (10,) array
        As `camera.project` takes them.
    heights : (foot, tip)
        Of the axis above the plane the camera was solved in, mm.
    """

    numbers: Floats
    heights: tuple[float, float]

    def matrix(self, frame: Frame, points: Points) -> Floats:
        """Return `axis_homography` of this camera."""
        return axis_homography(self.numbers, frame, points, self.heights)

    def to_json(self) -> dict[str, list[float]]:
        """Return it as a stored row keeps it."""
        return {"numbers": [float(v) for v in self.numbers], "heights": list(self.heights)}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> Self:
        """Return what `to_json` wrote."""
        foot, tip = stored["heights"]
        return cls(floats(stored["numbers"]), (float(foot), float(tip)))


def axis_homography(numbers: Floats, frame: Frame, points: Points, heights: tuple[float, float]) -> Floats:
    """Return the matrix that takes pixels to mm in the reed's axis plane.

    Parameters
    ----------
    numbers, frame
        The camera, as `camera.project` takes it.
    points : mapping of name to (x, y)
        Landmarks, px; the plane goes through foot and tip where both are there.
    heights : (foot, tip)
        Of the axis above the card, mm.

    Returns
    -------
    (3, 3) array
        H with (x, y, w) = H (px, py, 1) and (x/w, y/w) mm along and across from the foot, scaled so
        that its lowest right element is 1. It is fitted to the picture along the reed, so that the
        lens's distortion is in it as far as a matrix can hold it.

    Raises
    ------
    ValueError
        If the plane is seen edge on.
    """
    pixels = _strip(frame, points)
    plane = axis_plane(numbers, frame, points, heights)
    flat = plane.flat(meet_plane(numbers, frame, pixels, plane.origin, plane.normal))
    if not np.isfinite(flat).all():
        raise ValueError("The plane of the reed's axis is seen edge on.")
    matrix = floats(cv2.findHomography(pixels, flat, 0)[0])
    return floats(matrix / matrix[2, 2])


def _strip(frame: Frame, points: Points) -> Floats:
    """Return a grid of pixels, (n, 2), over the reed and a little beyond; else over the whole picture."""
    along, across = np.meshgrid(np.linspace(-0.1, 1.2, 14), np.linspace(-0.15, 0.15, 5))
    spots = [points[name] for name in (ON_AXIS[0], ON_AXIS[-1]) if name in points]
    if len(spots) < 2 or float(np.hypot(*(floats(spots[1]) - floats(spots[0])))) < 10:
        x, y = np.meshgrid(np.linspace(0, frame.width, 9), np.linspace(0, frame.height, 9))
        return np.column_stack([x.ravel(), y.ravel()])
    foot, way = floats(spots[0]), floats(spots[1]) - floats(spots[0])
    side = floats([-way[1], way[0]])
    return floats(foot + along.reshape(-1, 1) * way + across.reshape(-1, 1) * side)


def to_plane(matrix: Floats, x: float, y: float) -> tuple[float, float]:
    """Return where a pixel lies in the plane, mm; the same sum as static/js/projection.js."""
    a = matrix @ floats([x, y, 1.0])
    return float(a[0] / a[2]), float(a[1] / a[2])


def distance_mm(matrix: Floats, start: tuple[float, float], stop: tuple[float, float]) -> float:
    """Return the distance in the plane between two pixels, mm."""
    first, second = to_plane(matrix, *start), to_plane(matrix, *stop)
    return float(np.hypot(second[0] - first[0], second[1] - first[1]))


def brought_to(matrix: Floats, points: Points, lengths: Mapping[str, Measured]) -> Floats:
    """Return the matrix scaled so that its distances agree with `lengths`, by the median of their ratios."""
    ratios = [
        measured.value / there
        for name, measured in lengths.items()
        if (there := distance_mm(matrix, points[LENGTHS[name][0]], points[LENGTHS[name][1]])) > 0
    ]
    if not ratios:
        return matrix
    return floats(np.diag([np.median(ratios), np.median(ratios), 1.0]) @ matrix)
