"""A pinhole camera over a table; its lens states distortion the other way round than the estimator.

World: x and y as on the card (y runs down the page), z up towards the camera, mm.
"""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Lens:
    """Focal length in px, picture size, and how far the corner is pulled: share of its radius."""

    focal: float
    width: int
    height: int
    pull: float = 0.0
    pull4: float = 0.0

    def straighten(self, pixels):
        """Where the pixels would be with a perfect lens, relative to the middle, in focal lengths."""
        off = pixels - np.array([self.width, self.height]) / 2
        share = (off**2).sum(-1, keepdims=True) / ((self.width**2 + self.height**2) / 4)
        return off * (1 - self.pull * share - self.pull4 * share**2) / self.focal

    def bend(self, flat):
        """Undo `straighten` by repeated substitution, many rounds."""
        aim = flat * self.focal
        off = aim.copy()
        quarter = (self.width**2 + self.height**2) / 4
        for _ in range(30):
            share = (off**2).sum(-1, keepdims=True) / quarter
            off = aim / (1 - self.pull * share - self.pull4 * share**2)
        return off + np.array([self.width, self.height]) / 2


@dataclass(frozen=True)
class View:
    """A lens at a place: `axes` has the camera's right, down and forward as rows."""

    lens: Lens
    place: np.ndarray
    axes: np.ndarray

    def see(self, points):
        """Pixels of world points, (n, 3) to (n, 2)."""
        local = (np.atleast_2d(points) - self.place) @ self.axes.T
        return self.lens.bend(local[:, :2] / local[:, 2:])

    def onto_plane(self, pixels, origin, normal):
        """World points of a plane that the pixels see; any leading shape."""
        flat = self.lens.straighten(pixels)
        rays = np.concatenate([flat, np.ones((*flat.shape[:-1], 1))], -1) @ self.axes
        reach = ((origin - self.place) @ normal) / (rays @ normal)
        return self.place + reach[..., None] * rays


def look_at(lens, target, distance, tilt, azimuth, roll):
    """A view of `target` from `distance` mm, the line of sight `tilt` degrees off the vertical."""
    t, a, r = np.radians([tilt, azimuth, roll])
    away = np.array([np.sin(t) * np.cos(a), np.sin(t) * np.sin(a), np.cos(t)])
    forward = -away
    # page's y runs down the card, so "right" is chosen with the card's own x and turned by the roll
    right = np.array([1.0, 0, 0]) - forward[0] * forward
    right /= np.linalg.norm(right)
    down = np.cross(right, forward)
    if down[1] < 0:
        down = -down
    spun = np.cos(r) * right + np.sin(r) * down
    under = -np.sin(r) * right + np.cos(r) * down
    return View(lens, np.asarray(target, float) + distance * away, np.stack([spun, under, forward]))
