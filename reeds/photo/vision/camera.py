"""A camera above a table: pinhole with one term of radial distortion; its doubt, and what a pixel sees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self

from reeds.numbers.late import cv2, np
from reeds.photo.vision.arrays import Floats, floats

# a camera's ten numbers in the order they are solved for
LOG_FOCAL, DISTORTION, CENTRE, TURN, SHIFT = 0, 1, slice(2, 4), slice(4, 7), slice(7, 10)
SIZE = 10


@dataclass(frozen=True)
class Frame:
    """Width and height of the upright picture, px."""

    width: int
    height: int

    @property
    def half_diagonal(self) -> float:
        """Half the diagonal, px: where the distortion is stated."""
        return float(np.hypot(self.width, self.height)) / 2

    @property
    def centre(self) -> Floats:
        """The middle of the picture, px, (2,)."""
        return floats([self.width / 2, self.height / 2])


@dataclass(frozen=True)
class Solved:
    """A camera with its doubt.

    Attributes
    ----------
    numbers : (10,) array
        As `project` takes them.
    covariance : (10, 10) array
    frame : Frame
    noise_px : float
        Standard deviation of one coordinate of one corner, px.
    squares : float
        Sum of squared residuals, px2.
    freedom : int
        Observations less the six numbers of the pose.
    cost : float
        Sum of squared residuals in units of their standard uncertainty, the prior's included: by this, two
        cameras for the same pixels are told apart.
    """

    numbers: Floats
    covariance: Floats
    frame: Frame
    noise_px: float
    squares: float
    freedom: int
    cost: float


def exactly(numbers: Floats, frame: Frame) -> Solved:
    """Return a camera, (10,), that is taken as it stands: no doubt of its own, nothing left over."""
    return Solved(numbers, np.zeros((SIZE, SIZE)), frame, 0.0, 0.0, 0, 0.0)


@dataclass(frozen=True)
class AxisCamera:
    """A camera and the reed's axis before it: what takes pixels to mm along the reed.

    Attributes
    ----------
    numbers : (10,) array
        As `project` takes them.
    heights : (foot, tip)
        Of the axis above the plane the camera was solved in, mm.
    """

    numbers: Floats
    heights: tuple[float, float]

    def to_json(self) -> dict[str, list[float]]:
        """Return it as a stored row keeps it."""
        return {"numbers": [float(v) for v in self.numbers], "heights": list(self.heights)}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> Self:
        """Return what `to_json` wrote."""
        foot, tip = stored["heights"]
        return cls(floats(stored["numbers"]), (float(foot), float(tip)))


def project(numbers: Floats, frame: Frame, points: Floats) -> Floats:
    """Return where points of the table are seen.

    Parameters
    ----------
    numbers : (10,) array
        Log of the focal length in px; distortion as a fraction of the radius at the picture's
        corner (positive: pushed outwards); the principal point less the middle of the picture, px;
        turn (Rodrigues vector, radians); shift, mm.
    frame : Frame
    points : (n, 3) array
        mm on the table.

    Returns
    -------
    (n, 2) array
        Pixels.
    """
    seen = points @ rotation(numbers).T + numbers[SHIFT]
    flat = seen[:, :2] / seen[:, 2:]
    focal = float(np.exp(numbers[LOG_FOCAL]))
    radius2 = (flat**2).sum(axis=1, keepdims=True) * (focal / frame.half_diagonal) ** 2
    return floats(focal * flat * (1 + numbers[DISTORTION] * radius2) + frame.centre + numbers[CENTRE])


def rotation(numbers: Floats) -> Floats:
    """Return the (3, 3) rotation from table to camera."""
    return floats(cv2.Rodrigues(numbers[TURN])[0])


def directions(numbers: Floats, frame: Frame, pixels: Floats) -> Floats:
    """Return the direction, (n, 3) on the table's axes, in which each pixel (n, 2) looks."""
    focal = float(np.exp(numbers[LOG_FOCAL]))
    seen = (pixels - frame.centre - numbers[CENTRE]) / focal
    reach = numbers[DISTORTION] * (focal / frame.half_diagonal) ** 2
    flat = seen
    for _ in range(6):  # converges tenfold or better a round for every distortion a phone has
        flat = seen / (1 + reach * (flat**2).sum(axis=1, keepdims=True))
    ahead = np.column_stack([flat, np.ones(len(flat))])
    return floats(ahead @ rotation(numbers))


def eye(numbers: Floats) -> Floats:
    """Return where the camera stands on the table's axes, (3,), mm."""
    return floats(-rotation(numbers).T @ numbers[SHIFT])


def meet_plane(numbers: Floats, frame: Frame, pixels: Floats, point: Floats, normal: Floats) -> Floats:
    """Return where the pixels' rays meet a plane.

    Parameters
    ----------
    pixels : (n, 2) array
    point : (3,) array or (n, 3) array
        A point of the plane, mm, or one for each pixel, whose plane runs through it.
    normal : (3,) array

    Returns
    -------
    (n, 3) array
        mm; not finite where a ray runs along the plane.
    """
    return reach_plane(eye(numbers), directions(numbers, frame, pixels), point, normal)


def reach_plane(here: Floats, rays: Floats, point: Floats, normal: Floats) -> Floats:
    """Return where rays, (n, 3), from the eye, (3,), meet a plane, given as to `meet_plane`: (n, 3), mm."""
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = ((point - here) @ normal) / (rays @ normal)
        return floats(here + reach[:, None] * rays)


def tilt_degrees(numbers: Floats, about: Floats) -> float:
    """Return the angle between the card's normal and the line of sight to `about` ((3,), mm), degrees."""
    sight = about - eye(numbers)
    return float(np.degrees(np.arccos(abs(sight[2]) / np.linalg.norm(sight))))
