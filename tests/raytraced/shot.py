"""A picture before it is taken: scene, camera and phone, with the truth that goes with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tests.raytraced.lens import Camera
from tests.raytraced.phone import Phone, deep
from tests.raytraced.pov import Scene, render

HALVES = ("fix", "report")
Pixel = tuple[float, float]


@dataclass(frozen=True)
class Truth:
    """What is true of a picture of a lying reed.

    Attributes
    ----------
    lengths : mapping of name to float
        mm along the reed's axis between the trade's landmarks, the tip's width across it.
    seen : mapping of name to (x, y)
        Where an eye sees each landmark: the visible point of the surface's edge, px from the outer
        corner of the top left pixel.
    axis : mapping of name to (x, y)
        Where the points of the axis itself would be seen, px.
    surface : mapping of name to (s, y, h)
        The surface points behind `seen`, mm on the reed's own axes; the heights over the axis are h.
    heights : (foot, tip)
        Of the axis over the card's plane, mm.
    factor, bend : float
        How large the card was printed; how high it bends, mm.
    focal_35mm : float or None
        As the file says it; None through a chat.
    across : str
        What lies across the blades: wire, hair, fishskin or nothing.
    markers : mapping of number to four (x, y)
        Corners of the card's markers, px.
    beside : mapping
        `known` (mm, pixel, pixel) or `id1` (four pixels), where such a thing lies there.
    sentence : str
        What the refusal must speak of, in one word of this package; empty where it must measure.
    """

    lengths: Mapping[str, float] = field(default_factory=dict)
    seen: Mapping[str, Pixel] = field(default_factory=dict)
    axis: Mapping[str, Pixel] = field(default_factory=dict)
    surface: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)
    heights: Pixel = (0.0, 0.0)
    factor: float = 1.0
    bend: float = 0.0
    focal_35mm: float | None = None
    across: str = ""
    markers: Mapping[int, Any] = field(default_factory=dict)
    beside: Mapping[str, Any] = field(default_factory=dict)
    sentence: str = ""


@dataclass(frozen=True)
class OpeningTruth:
    """What is true of an opening: mm, and left and right as one looks into the tip, marked blade up.

    `upper` and `lower` are the gap's edges and `corners` the blades' corners (left, right), px.
    """

    height: float
    width: float
    area: float
    unevenness: float
    upper: Any = None
    lower: Any = None
    corners: Any = None
    sentence: str = ""

    @property
    def ratio(self) -> float:
        """Height at the middle over the blades' width."""
        return self.height / self.width


@dataclass(frozen=True)
class Shot:
    """A picture that can be taken again and again: the same seed gives the same bytes.

    `near` is an outline, (n, 2) px, and the blur, px, of all that is seen outside it.
    """

    scene: Scene
    camera: Camera
    phone: Phone
    truth: Any
    seed: tuple[int, ...]
    focal_35mm: float | None = None
    near: tuple[Any, float] | None = None

    def take(self) -> tuple[bytes, float]:
        """Return the file as it arrives, and the seconds it took to draw (0 where it was kept)."""
        light, seconds = render(self.scene)
        rng = np.random.default_rng([*self.seed, 1])
        bent = self.camera.develop(light)
        rgb = self.phone.develop(bent if self.near is None else deep(bent, *self.near), rng)
        return self.phone.file(rgb, self.focal_35mm), seconds


def rng_of(part: int, half: str, number: int) -> tuple[np.random.Generator, tuple[int, ...]]:
    """Return the generator of one picture and its seed; the two halves share none."""
    seed = (2911, part, HALVES.index(half), number)
    return np.random.default_rng(seed), seed
