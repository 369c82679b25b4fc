"""Where an eye sees the landmarks of a solid: visible points of its rings, not points of its axis."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from tests.raytraced.body import Body
from tests.raytraced.lens import Camera

Array = npt.NDArray[Any]
Seen = dict[str, tuple[float, float]]


def in_room(points: Array, axes: Array, origin: Array) -> Array:
    """Return points of the reed's own axes, (n, 3), as they stand in the room."""
    return np.asarray(points @ axes + origin)


def axis_points(body: Body, axes: Array, origin: Array, camera: Camera) -> Seen:
    """Return where the axis points of the landmarks are seen, px; the tip's corners are themselves."""
    local = {k: np.array([s, 0.0, 0.0]) for k, s in body.along().items()} | body.corners()
    seen = camera.see(in_room(np.stack(list(local.values())), axes, origin))
    return dict(zip(local, _pairs(seen), strict=True))


def surface_points(body: Body, axes: Array, origin: Array, camera: Camera) -> Seen:
    """Return where the landmarks themselves are seen, px: each the visible point half-way across.

    The ends (foot, tip) are the outermost edge: the near side of their ring, or the far side's where the
    camera looks at the end from outside.
    """
    found = {}
    for name in body.along():
        ring, normals = body.ring(name)
        found[name] = _half_way(ring, normals, name, (body, axes, origin, camera))
    corners = camera.see(in_room(np.stack(list(body.corners().values())), axes, origin))
    return found | dict(zip(body.corners(), _pairs(corners), strict=True))


def surface_spot(body: Body, name: str, axes: Array, origin: Array, camera: Camera) -> Array:
    """Return the 3-D point of a landmark that one sees, mm on the reed's own axes, (3,)."""
    ring, normals = body.ring(name)
    here, _ = _crossing(ring, normals, name, (body, axes, origin, camera))
    return here


def _half_way(
    ring: Array, normals: Array, name: str, how: tuple[Body, Array, Array, Camera]
) -> tuple[float, float]:
    _, pixel = _crossing(ring, normals, name, how)
    return float(pixel[0]), float(pixel[1])


def _crossing(
    ring: Array, normals: Array, name: str, how: tuple[Body, Array, Array, Camera]
) -> tuple[Array, Array]:
    body, axes, origin, camera = how
    world = in_room(ring, axes, origin)
    pixels = camera.see(world)
    across = _across(body.along()[name], axes, origin, camera)
    off = pixels @ across
    middle = (off.min() + off.max()) / 2
    facing = ((normals @ axes) * (camera.place - world)).sum(1) > 0
    if name in ("staple_foot", "tip"):
        out = -1 if name == "staple_foot" else 1
        end = in_room(np.array([[body.along()[name], 0, 0]]), axes, origin)[0]
        if out * ((camera.place - end) @ axes[0]) > 0:
            facing = ~facing
    ahead = np.roll(off, -1) - middle
    change = facing & np.roll(facing, -1) & ((off - middle) * ahead <= 0)
    i = int(np.flatnonzero(change)[0])
    share = (off[i] - middle) / (off[i] - middle - ahead[i] + 1e-15)
    j = (i + 1) % len(ring)
    return ring[i] + share * (ring[j] - ring[i]), pixels[i] + share * (pixels[j] - pixels[i])


def _across(s: float, axes: Array, origin: Array, camera: Camera) -> Array:
    a, b = camera.see(in_room(np.array([[s - 1, 0, 0], [s + 1, 0, 0]]), axes, origin))
    way = (b - a) / np.linalg.norm(b - a)
    return np.array([-way[1], way[0]])


def _pairs(pixels: Array) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in pixels]
