"""The camera: a pinhole for the ray tracer, bent afterwards by radial terms as OpenCV states them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy import ndimage

Array = npt.NDArray[Any]
MARGIN = 1.04  # rendered wider than kept, so that bending finds pixels at the rim
FRAME_MM = (36.0, 24.0)


@dataclass(frozen=True)
class Camera:
    """A camera at a place.

    Attributes
    ----------
    place : (3,) array
        The eye, mm.
    axes : (3, 3) array
        The camera's right, down and ahead as rows.
    focal : float
        px of the kept picture.
    size : (width, height)
        Of the kept picture, px.
    k1, k2 : float
        Radial terms, radii in focal lengths.
    """

    place: Array
    axes: Array
    focal: float
    size: tuple[int, int]
    k1: float = 0.0
    k2: float = 0.0

    @property
    def drawn(self) -> tuple[int, int]:
        """Width and height that are rendered, px."""
        return round(self.size[0] * MARGIN), round(self.size[1] * MARGIN)

    def see(self, points: Array) -> Array:
        """Return where points (n, 3), mm, are seen, (n, 2) px from the outer corner of the top left pixel."""
        local = (np.atleast_2d(points) - self.place) @ self.axes.T
        flat = local[:, :2] / local[:, 2:]
        return self.bend(flat) * self.focal + np.array(self.size) / 2

    def bend(self, flat: Array) -> Array:
        """Return where the lens puts places of a perfect one; both in focal lengths."""
        r2 = (flat**2).sum(-1, keepdims=True)
        return np.asarray(flat * (1 + self.k1 * r2 + self.k2 * r2**2))

    def unbend(self, bent: Array) -> Array:
        """Undo `bend` by substitution."""
        flat = bent
        for _ in range(8):
            r2 = (flat**2).sum(-1, keepdims=True)
            flat = bent / (1 + self.k1 * r2 + self.k2 * r2**2)
        return np.asarray(flat)

    def develop(self, drawn: Array) -> Array:
        """Bend a rendered picture (`drawn` px) to the kept one, float32."""
        x, y = np.meshgrid(np.arange(self.size[0]) + 0.5, np.arange(self.size[1]) + 0.5)
        bent = (np.stack([x, y], -1) - np.array(self.size) / 2) / self.focal
        at = self.unbend(bent) * self.focal + np.array(self.drawn) / 2 - 0.5
        # OpenCV rounds places to a fraction of a pixel where it reads cubically: 0.04 px off
        places = at[..., 1], at[..., 0]
        bands = [ndimage.map_coordinates(drawn[..., i], places, order=3, mode="nearest") for i in range(3)]
        return np.clip(np.stack(bands, -1), 0, None).astype(np.float32)

    def script(self) -> str:
        """Return the camera for POV-Ray."""
        right, down, ahead = self.axes
        width, height = self.drawn
        lines = [
            f"location {vector(self.place)}",
            f"right {vector(right * width / self.focal)}",
            f"up {vector(-down * height / self.focal)}",
            f"direction {vector(ahead)}",
        ]
        return "camera { perspective " + " ".join(lines) + " }\n"


def vector(values: Any) -> str:
    """Return numbers as POV-Ray writes them."""
    return "<" + ",".join(f"{float(v):.6g}" for v in values) + ">"


def aim(target: Array, away: Array, roll: float) -> tuple[Array, Array]:
    """Return place and axes of a camera that looks from `target + away` at `target`, rolled (degrees)."""
    ahead = -away / np.linalg.norm(away)
    level = np.array([1.0, 0, 0]) if abs(ahead[2]) > 0.5 else np.cross(ahead, [0, 0, 1.0])
    right = level - (level @ ahead) * ahead
    right /= np.linalg.norm(right)
    down = np.cross(ahead, right)
    c, s = np.cos(np.radians(roll)), np.sin(np.radians(roll))
    return target + away, np.stack([c * right + s * down, -s * right + c * down, ahead])


def focal_px(focal_35mm: float, size: tuple[int, int]) -> float:
    """Return the focal length in px of one stated for the 35 mm frame, by its diagonal."""
    return float(focal_35mm * np.hypot(*size) / np.hypot(*FRAME_MM))
