"""Openings tip-on: two blades, the gap between them, what is behind, on a dark or a bright wall."""

from dataclasses import dataclass

import cv2
import numpy as np

from tests.simulator.optics import Lens, look_at
from tests.simulator.photo import Conditions, between, plane_map, through_jpeg

BLUR = (0.5, 1.6)


@dataclass(frozen=True)
class OpeningPhoto:
    rgb: np.ndarray
    height_ratio: float
    unevenness: float
    height: float
    width: float
    area: float


def gap_profile(rng, width):
    """Half width of the gap and a function: along (from the middle) to height, mm."""
    half = width / 2 * rng.uniform(0.80, 0.98)
    height, power = rng.uniform(0.3, 1.2), rng.uniform(0.7, 1.4)
    lean, shift = rng.uniform(-0.35, 0.35), 0.0

    def at(u):
        share = np.clip(1 - (np.abs(u - shift) / half) ** 2, 0, None)
        return height * share**power * (1 + lean * u / half)

    return half, at


def opening_photo(rng, bright=None):
    width = rng.uniform(6.5, 7.4)
    _, gap = gap_profile(rng, width)
    u = np.linspace(-width / 2, width / 2, 4001)
    h = gap(u)
    areas = [np.trapezoid(h[u <= 0], u[u <= 0]), np.trapezoid(h[u >= 0], u[u >= 0])]
    pixels = (rng.uniform(1, 4) if rng.random() < 0.85 else rng.uniform(4, 12)) * 1e6
    w, hgt = round(np.sqrt(pixels * 4 / 3)), round(np.sqrt(pixels * 3 / 4))
    lens = Lens(rng.uniform(24, 60) / 36 * w, w, hgt, rng.uniform(-0.003, 0.003))
    fill = rng.uniform(0.25, 0.7)
    distance = lens.focal * width / (fill * w)
    spot = np.array([*rng.normal(0, 0.6, 2), 0])
    view = look_at(lens, spot, distance, rng.uniform(0, 10), rng.uniform(0, 360), rng.uniform(-15, 15))
    place = plane_map(view, np.zeros(3), np.array([0, 0, 1.0]))
    rgb = paint(
        rng, place[..., 0], place[..., 1], width, gap, rng.random() < 0.5 if bright is None else bright
    )
    rgb = finish(rng, rgb)
    return OpeningPhoto(
        rgb,
        gap(np.array(0.0)) / width,
        (areas[0] - areas[1]) / sum(areas),
        float(gap(np.array(0.0))),
        width,
        sum(areas),
    )


def paint(rng, x, y, width, gap, bright):
    wall = rng.uniform(0.65, 0.97, 3) if bright else rng.uniform(0.01, 0.16, 3)
    if bright and rng.random() < 0.5:
        wall = np.full(3, wall[0])
    picture = np.broadcast_to(wall, (*x.shape, 3)).astype(np.float32).copy()
    half = width / 2
    if rng.random() < 0.6:  # thread or cork behind, round, narrower than the blades
        behind = np.hypot(x, y - rng.uniform(-0.3, 0.3)) < rng.uniform(2.4, 3.3)
        soft = cv2.GaussianBlur(behind.astype(np.float32), (0, 0), 0.01 * x.shape[1])[..., None]
        picture = picture * (1 - soft) + soft * rng.uniform(0.05, 0.7, 3).astype(np.float32)
    bow = rng.uniform(-0.25, 0.25)
    centre = bow * (1 - (x / half) ** 2)
    share = np.clip(1 - (x / half) ** 2, 0, None)
    thick = rng.uniform(0.08, 0.2) + rng.uniform(0.0, 0.5) * share
    h = gap(x)
    cane = np.array([rng.uniform(0.6, 0.92), rng.uniform(0.5, 0.8), rng.uniform(0.25, 0.5)])
    blades = (np.abs(x) <= half) & (np.abs(y - centre) <= h / 2 + thick)
    shade = 1 - rng.uniform(0, 0.35) * np.clip(np.abs(y - centre) - h / 2, 0, None) / 0.5
    picture[blades] = (cane * shade[..., None])[blades]
    hole = (np.abs(y - centre) < h / 2) & (np.abs(x) < half)
    inside = np.array([1.1, 0.9, 0.7]) * rng.uniform(0.01, 0.12)
    picture[hole] = inside
    return picture


def finish(rng, picture):
    h, w = picture.shape[:2]
    light = (
        1
        + rng.uniform(-0.2, 0.2) * np.linspace(-1, 1, w)[None, :, None]
        + rng.uniform(-0.2, 0.2) * np.linspace(-1, 1, h)[:, None, None]
    )
    # a lens blurs light, and not the code in which a picture keeps it
    picture = np.clip(picture * light * rng.uniform(0.7, 1.0), 0, 1).astype(np.float32) ** 2.2
    picture = cv2.GaussianBlur(picture, (0, 0), between(rng, BLUR) * w / 1600) ** (1 / 2.2)
    cv2.setRNGSeed(int(rng.integers(2**31)))
    picture += cv2.randn(np.empty(picture.shape, np.float32), 0, rng.uniform(0.5, 4) / 255)
    rgb = np.round(np.clip(picture, 0, 1) * 255).astype(np.uint8)
    return through_jpeg(rgb, int(rng.integers(70, 96)))


__all__ = ["Conditions", "OpeningPhoto", "opening_photo"]
