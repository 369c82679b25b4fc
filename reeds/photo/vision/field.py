"""The card's blue field cut out flat, and how unlike the bare field each of its places looks."""

from __future__ import annotations

from dataclasses import dataclass

from reeds.numbers.late import cv2, np
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.camera import Solved, project
from reeds.photo.vision.card import FIELD_MM
from reeds.photo.vision.sampling import grey_of, light_of, resample
from reeds.photo.vision.upright import UprightPicture

MOST_PX_PER_MM = 10.0
MARGIN_MM = 0.6
DARKEST_SHADOW_LOG = 0.9  # natural log: a shadow takes at most 60 % of the light
LEAST_LIGHT_GREY = 4.0  # grey levels: below, colour is noise
SMOOTH_MM = 0.12


@dataclass(frozen=True)
class Field:
    """The field seen flat, in the card's plane.

    Attributes
    ----------
    log_rgb : (height, width, 3) array
        Natural log of the grey levels.
    score : (height, width) array
        0 for bare field, in light or in shade; about 0.3 or more for anything that lies on it.
    px_per_mm : float
    left, top : float
        Where the cut's outer corner lies on the card, mm.
    """

    log_rgb: Floats
    score: Floats
    px_per_mm: float
    left: float
    top: float

    def to_card(self, x: Floats, y: Floats) -> Floats:
        """Return places of the cut, px, as (n, 2) mm of the card."""
        return np.column_stack([self.left + x / self.px_per_mm, self.top + y / self.px_per_mm])


def cut_field(picture: UprightPicture, solved: Solved, factor: float, scale: float) -> Field:
    """Cut the field out of a picture, flat, at `scale` px/mm or 10, whichever is less.

    Parameters
    ----------
    picture : UprightPicture
    solved : Solved
        The camera.
    factor : float
        The card's printing factor.
    scale : float
        The picture's own px/mm.
    """
    left, top, right, bottom = (
        v + m for v, m in zip(FIELD_MM, (MARGIN_MM,) * 2 + (-MARGIN_MM,) * 2, strict=True)
    )
    resolution = min(scale, MOST_PX_PER_MM)
    width, height = int((right - left) * resolution), int((bottom - top) * resolution)
    x, y = np.meshgrid(
        (np.arange(width) + 0.5) / resolution + left, (np.arange(height) + 0.5) / resolution + top
    )
    flat = np.column_stack([x.ravel(), y.ravel(), np.zeros(x.size)]) * factor
    seen = (project(solved.numbers, solved.frame, flat) - 0.5).reshape(height, width, 2)
    source, corner = _soften(picture, scale / resolution, seen)
    light = resample(source, seen[..., 0] - corner[0], seen[..., 1] - corner[1])
    smooth = cv2.GaussianBlur(light, (0, 0), max(0.5, SMOOTH_MM * resolution))
    logs = np.log(np.maximum(grey_of(floats(smooth)), LEAST_LIGHT_GREY))
    return Field(logs, _score(logs), resolution, left, top)


def _soften(picture: UprightPicture, step: float, seen: Floats) -> tuple[Floats, tuple[int, int]]:
    """Return the light of the part asked for, blurred to the grid it is read on, and its corner."""
    x0, y0 = (max(0, int(np.floor(seen[..., i].min())) - 4) for i in (0, 1))
    x1, y1 = (int(np.ceil(seen[..., i].max())) + 5 for i in (0, 1))
    part = light_of(picture.rgb[y0:y1, x0:x1])
    return (floats(cv2.GaussianBlur(part, (0, 0), 0.4 * step)) if step > 1.2 else part), (x0, y0)


def _score(logs: Floats) -> Floats:
    change = logs - _bare(logs)
    light = change.mean(axis=2)
    hue = np.sqrt(((change - light[..., None]) ** 2).sum(axis=2))
    # brighter than paper counts at once, darker only beyond what a shadow does
    brightness = np.where(light > 0, light, np.maximum(0, -light - DARKEST_SHADOW_LOG))
    return floats(np.hypot(hue, brightness))


def _bare(logs: Floats) -> Floats:
    """Return what the bare field would look like everywhere: a smooth surface through its clear parts."""
    height, width = logs.shape[:2]
    down, along = np.linspace(-1, 1, height)[:, None, None], np.linspace(-1, 1, width)[:, None]
    every = max(1, height // 60)
    y, x = (one.ravel() for one in np.meshgrid(down[::every], along[::every], indexing="ij"))
    some = np.column_stack([np.ones_like(x), x, y, x * x, x * y, y * y])
    seen = logs[::every, ::every].reshape(-1, 3)
    clear = np.abs(y) > 0.6
    for _ in range(6):
        fit = np.linalg.lstsq(some[clear], seen[clear], rcond=None)[0]
        off = np.abs(seen - some @ fit).max(axis=1)
        limit = max(0.04, 2.5 * float(np.median(off[clear])))
        clear = off < limit
    level, slope = fit[0] + along * fit[1] + along**2 * fit[3], fit[2] + along * fit[4]
    return floats(level + down * slope + down**2 * fit[5])
