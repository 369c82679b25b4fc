"""Table, lamps, window and what stands about: the room in which a picture is taken."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from tests.raytraced.lens import vector
from tests.raytraced.reed import colour, finish

Array = npt.NDArray[Any]
WOODS = (
    ((0.62, 0.42, 0.24), (0.44, 0.27, 0.14)), ((0.80, 0.64, 0.42), (0.68, 0.50, 0.30)),
    ((0.36, 0.22, 0.13), (0.22, 0.12, 0.07)), ((0.72, 0.60, 0.48), (0.60, 0.48, 0.36)),
)  # fmt: skip
WARM, COOL = np.array([1.0, 0.82, 0.62]), np.array([0.86, 0.93, 1.0])


@dataclass(frozen=True)
class Lamp:
    """A lamp or a window: place mm, colour, how strong at the table, half its size mm, and whether seen."""

    place: Array
    tint: Array
    strength: float
    half: float
    seen: bool = False

    def script(self) -> str:
        """Return it for POV-Ray; a window is also a bright pane that varnish and wet cane mirror."""
        ahead = -self.place / np.linalg.norm(self.place)
        right = np.cross(ahead, [0.1, 0.2, 1.0])
        right /= np.linalg.norm(right)
        up = np.cross(right, ahead)
        count = 1 if self.half == 0 else 5
        area = ""
        if count > 1:
            a, b = (vector(2 * self.half * v) for v in (right, up))
            area = f" area_light {a}, {b}, {count}, {count} adaptive 1"
        light = f"light_source {{ {vector(self.place)} rgb {vector(self.tint * self.strength)}{area} }}\n"
        return light + (self._pane(right, up, ahead) if self.seen else "")

    def _pane(self, right: Array, up: Array, ahead: Array) -> str:
        spot = self.place - ahead * 5
        four = [spot + self.half * (a * right + b * up) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
        corners = ", ".join(vector(p) for p in [*four, four[0]])
        return (
            f"polygon {{ 5, {corners} no_shadow pigment {{ rgb {vector(self.tint * 2.5)} }}"
            " finish { ambient 1 diffuse 0 } }\n"
        )


def any_lamps(rng: np.random.Generator) -> list[Lamp]:
    """Draw a window and two lamps: one always leads."""
    lead = rng.integers(3)
    strong = rng.uniform(0.12, 0.4, 3)
    strong[lead] = rng.uniform(0.6, 0.95)
    lamps = []
    for i, (tint, half) in enumerate(((COOL, 260.0), (WARM, 45.0), (WARM, 18.0))):
        around, up = rng.uniform(0, 2 * np.pi), np.radians(rng.uniform(32, 72))
        away = np.array([np.cos(around) * np.cos(up), np.sin(around) * np.cos(up), np.sin(up)])
        middle = np.array([74.0, -52.0, 0])
        shade = np.clip(tint + rng.normal(0, 0.04, 3), 0.3, 1.1)
        lamps.append(Lamp(middle + away * rng.uniform(550, 1100), shade, strong[i], half, seen=i == 0))
    return lamps


def any_table(rng: np.random.Generator, level: float = -0.12) -> str:
    """Draw a table top: varnished wood, a cloth, or one plain colour."""
    kind = rng.random()
    if kind < 0.6:
        light, dark = WOODS[rng.integers(len(WOODS))]
        gloss = rng.uniform(0, 0.12)
        look = (
            f"pigment {{ wood turbulence 0.08 octaves 4 color_map {{ [0 {colour(light)}] [0.7 {colour(dark)}]"
            f" [1 {colour(light, 0.9)}] }} scale <1,1,1>*{rng.uniform(6, 14):.2f} rotate 88*y"
            f" rotate {rng.uniform(0, 180):.1f}*z translate {vector(rng.uniform(-90, 90, 3))} }}"
            f" {finish(0.5 * (gloss > 0.04), 0.01, gloss)}"
        )
    elif kind < 0.8:
        rgb = _faded(rng)
        shades = f"[0 {colour(rgb, 0.8)}] [1 {colour(rgb)}]"
        look = (
            f"pigment {{ bozo turbulence 0.5 scale 1.3 color_map {{ {shades} }} }}"
            f" normal {{ bumps 0.5 scale 0.8 }} {finish(0.02)}"
        )
    else:
        look = f"pigment {{ {colour(_faded(rng))} }} {finish(0.3, 0.02, rng.uniform(0, 0.08))}"
    return f"plane {{ z, {level:.3f} texture {{ {look} }} }}\n"


def _faded(rng: np.random.Generator) -> Array:
    """Draw a colour that a table or its cloth may have: mostly pale or dark, seldom loud."""
    rgb = rng.uniform(0.08, 0.92, 3)
    return np.asarray(rgb.mean() + rng.uniform(0.1, 0.5) * (rgb - rgb.mean()))


def sky(rng: np.random.Generator) -> str:
    """Return what mirrors see beyond the lamps: a room, brighter above."""
    wall = rng.uniform(0.15, 0.45) * np.clip(rng.normal(1, 0.06, 3), 0.8, 1.2)
    return (
        f"sky_sphere {{ pigment {{ gradient z color_map {{ [0 rgb {vector(wall * 0.6)}]"
        f" [1 rgb {vector(wall)}] }} }} }}\n"
    )


def phone(place: Array, ahead: Array) -> str:
    """Return the phone and the hand behind the lens: not in the picture, but between lamps and table."""
    spot = place - 12 * ahead
    hand = spot + np.array([60.0, -20, 10])
    return (
        f"union {{ sphere {{ 0, 1 scale <70,34,6> translate {vector(spot)} }}"
        f" sphere {{ 0, 1 scale <55,40,25> translate {vector(hand)} }} pigment {{ rgb 0.1 }} }}\n"
    )
