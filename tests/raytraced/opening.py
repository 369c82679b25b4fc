"""A reed seen tip-on: two lips, the gap between them, undersides, thread and cork behind, fingers, a lamp."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from tests.raytraced import eye, reed, room
from tests.raytraced.body import Body, Gap, any_body
from tests.raytraced.lens import Camera, aim, vector
from tests.raytraced.phone import any_phone
from tests.raytraced.pov import HEAD, Scene, placed
from tests.raytraced.reed import colour, finish
from tests.raytraced.room import COOL, WARM, Lamp
from tests.raytraced.shot import OpeningTruth, Shot, rng_of

Array = npt.NDArray[Any]
SIZES = ((1440, 1080), (1280, 960), (1200, 1200), (1440, 960))
U = np.linspace(-1, 1, 2001)
# the reed points at the camera: along to +x, marked blade up; left and right as one looks into the tip
AXES = np.array([[1.0, 0, 0], [0, 1, 0], [0, 0, 1]])


def shot(part: int, half: str, number: int) -> Shot:
    """Return one picture of an opening, not yet taken."""
    rng, seed = rng_of(part, half, number)
    body, dress = any_body(rng), reed.any_dress(rng)
    origin = np.array([-body.length, 0.0, 0.0])
    camera = _camera(rng, body)
    phone = replace(any_phone(rng, chat=bool(rng.random() < 0.5)), blur=float(rng.uniform(0.5, 1.6)))
    parts = [HEAD, camera.script(), room.sky(rng), _wall(rng)]
    parts += [lamp.script() for lamp in _lamps(rng)]
    parts += [placed(reed.whole(body, dress), AXES, origin), _hand(rng, body, dress)]
    scene = Scene("".join(parts), camera.drawn)
    near = (_front(body, camera, origin), float(rng.uniform(0.003, 0.012) * camera.size[0]))
    return Shot(scene, camera, phone, truth_of(body, camera, origin), seed, near=near)


def truth_of(body: Body, camera: Camera, origin: Array) -> OpeningTruth:
    """Return the true figures, from the gap's own curves in the tip's plane, and where its edges are seen."""
    gap, half = body.gap, body.tip_width / 2
    left, right = (half_area(gap, half, side) for side in (-1, 1))
    few = np.linspace(-1, 1, 65)
    edges = [
        camera.see(eye.in_room(np.stack([np.full_like(few, body.length), half * few, h], 1), AXES, origin))
        for h in gap.edges(few)
    ]
    ends = np.array([[body.length, -half, 0], [body.length, half, 0]])
    return OpeningTruth(
        height=gap.height,
        width=body.tip_width,
        area=left + right,
        unevenness=(left - right) / (left + right),
        upper=edges[0],
        lower=edges[1],
        corners=camera.see(eye.in_room(ends, AXES, origin)),
    )


def half_area(gap: Gap, half: float, side: int) -> float:
    """Return the area of the left (-1) or the right (1) half, mm2, of blades `half` wide."""
    u = U[U * side >= 0]
    return float(np.trapezoid(gap.opening(u), u) * half)


def _camera(rng: np.random.Generator, body: Body) -> Camera:
    size = SIZES[rng.integers(len(SIZES))]
    distance = float(rng.uniform(80, 150))
    off, around = np.radians(abs(rng.normal(0, 4.5))), rng.uniform(0, 2 * np.pi)
    off = min(off, np.radians(10))
    away = np.array([np.cos(off), np.sin(off) * np.cos(around), np.sin(off) * np.sin(around)])
    target = np.array([0, *rng.normal(0, 0.35, 2)])
    place, axes = aim(target, distance * away, rng.normal(0, 6))
    focal = rng.uniform(0.2, 0.55) * size[0] * distance / body.tip_width
    return Camera(place, axes, focal, size)


def _front(body: Body, camera: Camera, origin: Array) -> Array:
    """Return the outline, px, of the blades' foremost 7 mm: what is in focus."""
    rings = []
    for s in np.linspace(body.length - 7, body.length, 8):
        h = np.concatenate([body.outer(s, U, 1), body.outer(s, U, -1)])
        rings.append(np.stack([np.full_like(h, s), body.width(s) * np.tile(U, 2), h], 1))
    seen = camera.see(eye.in_room(np.concatenate(rings), AXES, origin))
    return np.asarray(cv2.convexHull(seen.astype(np.float32))).reshape(-1, 2)


def _wall(rng: np.random.Generator) -> str:
    away, rgb = rng.uniform(120, 900), rng.uniform(0.05, 0.9)
    shade = np.clip(rgb * rng.normal(1, 0.08, 3), 0.02, 0.97)
    shades = f"[0 {colour(shade, 0.7)}] [1 {colour(shade)}]"
    pigment = f"pigment {{ bozo scale 60 color_map {{ {shades} }} }}"
    return f"plane {{ x, {-away:.1f} {pigment} {finish(0.0)} }}\n"


def _lamps(rng: np.random.Generator) -> list[Lamp]:
    """Draw the light: one hard lamp from anywhere before the reed, or a window with a lamp."""
    up, side = np.radians(rng.uniform(-10, 70)), np.radians(rng.uniform(-75, 75))
    away = np.array([np.cos(up) * np.cos(side), np.cos(up) * np.sin(side), np.sin(up)])
    if rng.random() < 0.5:
        return [Lamp(away * rng.uniform(300, 900), WARM, rng.uniform(0.8, 1.2), rng.choice([0.0, 12.0]))]
    other = np.array([rng.uniform(0.1, 0.9), rng.uniform(-1, 1), rng.uniform(0.2, 1)])
    window = Lamp(away * 900, COOL, rng.uniform(0.5, 0.9), 250.0, seen=True)
    return [window, Lamp(other / np.linalg.norm(other) * 600, WARM, rng.uniform(0.15, 0.5), 40.0)]


def _hand(rng: np.random.Generator, body: Body, dress: reed.Dress) -> str:
    """Thumb and finger about the cork, and nearly always something dark behind the foot."""
    parts = []
    for side in (-1, 1):
        s, roll = rng.uniform(8, 22), np.radians(rng.normal(90 * side, 25))
        way = np.array([0, np.cos(roll), np.sin(roll)])
        tip = np.array([s - body.length, 0, 0]) + way * (body.cork_radii[0] + 5.5)
        far = tip + way * 60 + np.array([-rng.uniform(10, 40), 0, 0])
        parts.append(f"sphere {{ {vector(tip)}, 7.5 }} cone {{ {vector(tip)}, 7.5, {vector(far)}, 8.5 }}")
    shades = f"[0 {colour(dress.skin, 0.93)}] [1 {colour(dress.skin)}]"
    skin = (
        f"texture {{ pigment {{ bozo scale 1.5 color_map {{ {shades} }} }}"
        f" normal {{ wrinkles 0.25 scale 1.2 }} {finish(0.15, 0.08)} }}"
    )
    behind = f"disc {{ <{0.5 - body.length:.2f},0,0>, x, 2.9 pigment {{ rgb 0.02 }} }}\n"
    stop = behind if rng.random() < 0.9 else ""
    return f"union {{ {' '.join(parts)} {skin} }}\n{stop}"
