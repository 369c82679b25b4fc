"""A reed's photo cut out flat at true scale, foot to the left, so that two can be laid over one another."""

from __future__ import annotations

from dataclasses import dataclass

from reeds.numbers.late import cv2, np
from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Floats, Pixels, floats
from reeds.photo.vision.camera import Frame, project
from reeds.photo.vision.lengths import OVER_AXIS, Points, reed_axis
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.upright import UprightPicture

PX_PER_MM = 14.0
NEED_ENDS = gettext_noop("Set the staple's foot and the tip on the photo first.")


@dataclass(frozen=True)
class Window:
    """What is cut out, mm from the foot along the axis and across it."""

    left: float = -4.0
    right: float = 84.0
    half: float = 11.0

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the cut, px."""
        return round((self.right - self.left) * PX_PER_MM), round(2 * self.half * PX_PER_MM)


WINDOW = Window()


def flatten(
    picture: UprightPicture,
    numbers: Floats,
    points: Points,
    heights: tuple[float, float],
    window: Window = WINDOW,
) -> Pixels:
    """Return the reed seen flat in the plane through its foot and tip as they are seen.

    Parameters
    ----------
    picture : UprightPicture
    numbers : (10,) array
        The camera, as `camera.project` takes it.
    points : mapping of name to (x, y)
        Landmarks, px; foot and tip must be there.
    heights : (foot, tip)
        Of the axis above the card, mm.

    Returns
    -------
    uint8 array, (height, width, 3)
        `PX_PER_MM` pixels a millimetre; the foot's end stands `-window.left` mm from the left edge, the
        axis runs along the middle. Outside the photo it is white.

    Raises
    ------
    PhotoRefused
        If foot or tip is missing.
    """
    if not {"staple_foot", "tip"} <= set(points):
        raise PhotoRefused(NEED_ENDS)
    frame = Frame(*picture.size)
    plane = reed_axis(numbers, frame, points, heights).seen(OVER_AXIS)
    width, height = window.size
    along = (np.arange(width) + 0.5) / PX_PER_MM + window.left
    across = (np.arange(height) + 0.5) / PX_PER_MM - window.half
    s, v = np.meshgrid(along, across)
    world = plane.origin + s.reshape(-1, 1) * plane.along + v.reshape(-1, 1) * plane.across
    seen = (project(numbers, frame, world) - 0.5).reshape(height, width, 2)
    return _read(picture.rgb, seen)


def _read(rgb: Pixels, seen: Floats) -> Pixels:
    """Return the picture read at `seen`, shrunk first where it is finer, so that nothing flickers."""
    step = float(np.linalg.norm(seen[0, -1] - seen[0, 0]) / max(1, seen.shape[1] - 1))
    source = cv2.GaussianBlur(rgb, (0, 0), 0.4 * step) if step > 1.2 else rgb
    read = cv2.remap(
        source,
        seen[..., 0].astype(np.float32),
        seen[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=(255, 255, 255),
    )
    return np.asarray(read, dtype=np.uint8)


def mm_to_px(along: float, across: float, window: Window = WINDOW) -> Floats:
    """Return where a place of the plane, mm, stands in the cut, px, (2,)."""
    return floats([(along - window.left) * PX_PER_MM, (across + window.half) * PX_PER_MM])
