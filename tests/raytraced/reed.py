"""The reed's parts as text for POV-Ray, on its own axes: metal, cork, thread, blades, what crosses them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from tests.raytraced.body import Body
from tests.raytraced.lens import vector
from tests.raytraced.pov import grid

Array = npt.NDArray[Any]
DARK = "pigment { srgb <0.25,0.2,0.12> } finish { ambient 0.02 diffuse 0.5 }"
BARK_STEP = 0.08  # mm that the bark stands over the scraped cane
METALS = ((0.83, 0.66, 0.32), (0.74, 0.58, 0.28), (0.78, 0.78, 0.76))
BARKS = ((0.78, 0.62, 0.28), (0.70, 0.55, 0.27), (0.82, 0.70, 0.40), (0.62, 0.47, 0.22))
CANES = ((0.90, 0.80, 0.58), (0.86, 0.74, 0.50), (0.93, 0.86, 0.68))
CORKS = ((0.76, 0.58, 0.40), (0.68, 0.50, 0.33), (0.82, 0.68, 0.50))
THREADS = (
    (0.70, 0.08, 0.12), (0.08, 0.12, 0.42), (0.05, 0.35, 0.18), (0.07, 0.07, 0.08),
    (0.90, 0.88, 0.82), (0.85, 0.45, 0.10), (0.30, 0.62, 0.80), (0.45, 0.15, 0.48),
)  # fmt: skip
SKINS = ((0.86, 0.66, 0.54), (0.66, 0.46, 0.34), (0.42, 0.28, 0.20), (0.93, 0.76, 0.66))


@dataclass(frozen=True)
class Dress:
    """The reed's colours (sRGB, 0 to 1), how wet it is (0 to 1), and what lies across its blades."""

    metal: tuple[float, ...]
    bark: tuple[float, ...]
    cane: tuple[float, ...]
    cork: tuple[float, ...]
    thread: tuple[float, ...]
    skin: tuple[float, ...]
    wet: float
    wire: float | None = None
    hair: float | None = None
    fishskin: tuple[float, float] | None = None


def any_dress(rng: np.random.Generator) -> Dress:
    """Draw colours and wetness; nothing across the blades."""

    def pick(table: tuple[tuple[float, ...], ...]) -> tuple[float, ...]:
        one = np.array(table[rng.integers(len(table))]) + rng.normal(0, 0.025, 3)
        return tuple(float(v) for v in np.clip(one, 0.02, 0.97))

    tables = (METALS, BARKS, CANES, CORKS, THREADS, SKINS)
    return Dress(*(pick(table) for table in tables), wet=float(rng.choice([0.0, 0.4, 1.0])))


def colour(rgb: Any, share: float = 1.0) -> str:
    """Return a colour as POV-Ray writes one given in sRGB, made lighter or darker."""
    return f"srgb {vector(np.clip(np.asarray(rgb) * share, 0, 1))}"


def finish(shine: float, rough: float = 0.02, mirror: float = 0.0, *, metallic: bool = False) -> str:
    """Return how a surface answers to light."""
    metal = " metallic" if metallic else ""
    return (
        f"finish {{ ambient 0.14 diffuse {0.8 - 0.3 * mirror:.3f} specular {shine:.3f} roughness {rough:.4f}"
        f" reflection {{ {mirror:.3f}{metal} }}{metal} }}"
    )


def fibrous(rgb: Any, wet: float, depth: float = 0.1) -> str:
    """Return cane: fibres along s, darker and shining where wet."""
    shade = 1 - 0.16 * wet
    return (
        "texture { pigment { bozo turbulence 0.3 color_map {"
        f" [0 {colour(rgb, shade * (1 - depth))}] [1 {colour(rgb, shade * (1 + 0.6 * depth))}] }}"
        f" scale <9, 0.13, 0.13> }} {finish(0.15 + 0.6 * wet, 0.03 - 0.02 * wet, 0.05 * wet)} }}"
    )


def whole(body: Body, dress: Dress) -> str:
    """Return all of the reed."""
    parts = [_staple(body, dress), _cork(body, dress), _thread(body, dress)]
    parts += [_blade(body, dress, side) for side in (1, -1)]
    parts += [_rim(body, dress), *_across(body, dress)]
    return "\n".join(parts)


def _staple(body: Body, dress: Dress) -> str:
    end = body.thread[1]
    wall = 0.4
    metal = f"texture {{ pigment {{ {colour(dress.metal)} }} {finish(0.7, 0.01, 0.28, metallic=True)} }}"
    # the blades close round the staple's end: from the tip one sees its rim and the dark bore
    rim = f"disc {{ <{end + 0.3:.3f},0,0>, x, {body.throat[0]:.4f}, {body.tube_radius - wall:.4f} {DARK} }}\n"
    return rim + (
        "difference {"
        f" cone {{ <0,0,0>, {body.foot_radius:.4f}, <{end:.3f},0,0>, {body.tube_radius:.4f} }}"
        f" cone {{ <-0.1,0,0>, {body.foot_radius - wall:.4f}, <{end + 0.1:.3f},0,0>,"
        f" {body.tube_radius - wall:.4f} }} {metal} }}"
    )


def _cork(body: Body, dress: Dress) -> str:
    (start, stop), (back, front), bevel = body.cork, body.cork_radii, 0.5
    marks = [(start, back - bevel), (start + bevel, back), (stop - bevel, front), (stop, front - bevel)]
    cones = [
        f"cone {{ <{a:.3f},0,0>, {ra:.3f}, <{b:.3f},0,0>, {rb:.3f} }}" for (a, ra), (b, rb) in pairwise(marks)
    ]
    bore = (
        f"cone {{ <{start - 1:.3f},0,0>, {body.foot_radius - 0.05:.4f},"
        f" <{stop + 1:.3f},0,0>, {body.tube_radius - 0.05:.4f} }}"
    )
    look = (
        "texture { pigment { granite turbulence 0.4 color_map {"
        f" [0 {colour(dress.cork, 0.5)}] [0.25 {colour(dress.cork, 0.95)}] [1 {colour(dress.cork, 1.1)}] }}"
        f" scale 2.2 }} normal {{ granite 0.25 scale 0.8 }} {finish(0.05)} }}"
    )
    return f"difference {{ union {{ {' '.join(cones)} }} {bore} {look} }}"


def _thread(body: Body, dress: Dress) -> str:
    radius = body.gauge / 2
    start, stop = body.thread[0], body.thread[1] - radius
    at = np.arange(stop, start, -body.gauge * 0.96)[::-1]
    share = np.clip((at - start) / (stop - start), 0, 1) ** 0.8
    tube = body.foot_radius + (body.tube_radius - body.foot_radius) * start / body.thread[1]
    wide = tube + (body.throat[0] - tube) * share
    high = tube + (body.throat[1] - tube) * share
    last = body.last_turn()
    wide[-1], high[-1] = last
    turns = [
        f"torus {{ {a:.4f}, {radius:.4f} rotate 90*z scale <1,1,{b / a:.5f}> translate {s:.4f}*x }}"
        for s, a, b in zip(at, wide, high, strict=True)
    ]
    look = (
        f"texture {{ pigment {{ bozo scale 0.35 color_map {{ [0 {colour(dress.thread, 0.8)}]"
        f" [1 {colour(dress.thread, 1.15)}] }} }} {finish(0.35, 0.06)} }}"
    )
    return f"union {{ {' '.join(turns)} {look} }}"


def _blade(body: Body, dress: Dress, side: int) -> str:
    u = np.cos(np.linspace(0, np.pi, 73))
    cuts = [("bark", np.full_like(u, body.thread[1] - 1.5)), ("back", body.line("scrape_start", u))]
    cuts += [] if body.back is None else [("heart", body.line("back_start", u))]
    cuts += [("tip", body.line("tip_start", u)), ("", np.full_like(u, body.length))]
    shades = {"bark": 1.0, "back": 0.97, "heart": 0.88, "tip": 1.05}
    parts = []
    for (name, start), (_, stop) in pairwise(cuts):
        s = start + (stop - start) * np.linspace(0, 1, 40)[:, None]
        step = BARK_STEP * (1 - u**2) ** 0.3 if name == "bark" else 0 * u
        h = body.outer(s, u, side) + side * step
        rgb = dress.bark if name == "bark" else np.array(dress.cane) * shades[name]
        parts.append(grid(_points(body, s, u, h), fibrous(rgb, dress.wet, 0.12 if name == "bark" else 0.07)))
    return "\n".join([*parts, _inside(body, dress, side, u), _lip(body, dress, side, u)])


def _points(body: Body, s: Array, u: Array, h: Array) -> Array:
    s, u, h = np.broadcast_arrays(s, u, h)
    return np.stack([s, body.width(s) * u, h], -1)


def _inside(body: Body, dress: Dress, side: int, u: Array) -> str:
    s = np.linspace(body.thread[1] - 0.5, body.length, 50)[:, None]
    look = fibrous(np.array(dress.cane) * 0.92, dress.wet).replace("ambient 0.14", "ambient 0.03")
    return grid(_points(body, s, u, body.inner(s, u, side)), look)


def _lip(body: Body, dress: Dress, side: int, u: Array) -> str:
    end = np.full_like(u, body.length)
    heights = (body.inner(end, u, side), body.outer(end, u, side))
    rows = [_points(body, end, u, h0) for h0 in np.linspace(*heights, 3)]
    return grid(np.stack(rows), fibrous(np.array(dress.cane) * 1.02, dress.wet))


def _rim(body: Body, dress: Dress) -> str:
    """The blades' two side edges, where both meet."""
    s = np.linspace(body.thread[1] - 1.5, body.length, 60)
    strips = []
    for u in (-1.0, 1.0):
        side = np.full_like(s, u)
        low, high = body.outer(s, side, -1), body.outer(s, side, 1)
        strips.append(np.stack([_points(body, s, side, h) for h in np.linspace(low, high, 3)], 1))
    return "\n".join(grid(strip, fibrous(dress.cane, dress.wet)) for strip in strips)


def _across(body: Body, dress: Dress) -> list[str]:
    parts = []
    if dress.wire is not None:
        parts.append(_wire(body, dress.wire))
    if dress.hair is not None:
        parts.append(_hair(body, dress.hair))
    if dress.fishskin is not None:
        parts += [_fishskin(body, *dress.fishskin, side) for side in (1, -1)]
    return parts


def _wire(body: Body, at: float) -> str:
    radius = 0.17
    turns = []
    for s in (at, at + 2.1 * radius):
        a = float(body.width(np.array(s))) + radius
        b = float(body.outer(np.array(s), np.array(0.0), 1)) + radius + BARK_STEP
        turns.append(f"torus {{ {a:.4f}, {radius} rotate 90*z scale <1,1,{b / a:.5f}> translate {s:.4f}*x }}")
    look = (
        f"texture {{ pigment {{ {colour((0.80, 0.62, 0.28))} }} {finish(0.8, 0.01, 0.25, metallic=True)} }}"
    )
    side = -body.throat[0]
    ends = f"<{at:.3f},{side - 0.2:.3f},0>, <{at - 2:.3f},{side - 1.4:.3f},1>"
    twist = f"cylinder {{ {ends}, 0.25 }}"
    return f"union {{ {' '.join(turns)} {twist} {look} }}"


def _hair(body: Body, at: float) -> str:
    y = np.linspace(-11, 11, 45)
    s = at + 0.35 * y + 0.8 * np.sin(y / 4)
    u = np.clip(y / body.width(s), -1, 1)
    h = np.where(np.abs(u) < 1, body.outer(s, u, 1) + 0.12, 0.1 - 0.28 * (np.abs(y) - body.width(s)))
    spots = [vector(p) for p in np.stack([s, y, h], 1)]
    pieces = [f"cylinder {{ {a}, {b}, 0.05 }}" for a, b in pairwise(spots)]
    return f"union {{ {' '.join(pieces)} pigment {{ srgb <0.13,0.08,0.05> }} {finish(0.4, 0.02)} }}"


def _fishskin(body: Body, start: float, stop: float, side: int) -> str:
    u = np.cos(np.linspace(0, np.pi, 61))
    s = np.linspace(start, stop, 30)[:, None] + 0 * u
    a, b = body.last_turn()
    under = np.clip((body.thread[1] + 0.5 - s) / 0.5, 0, 1)  # over the last turns of thread as well
    half = (1 - under) * (body.width(s) + 0.07) + under * (a + 0.22)
    round_ = side * (b + 0.22) * np.sqrt(1 - u**2)
    h = (1 - under) * (body.outer(s, u, side) + side * (0.07 + BARK_STEP)) + under * round_
    look = (
        "texture { pigment { bozo scale <1.5,0.5,0.5> turbulence 0.6 color_map {"
        " [0 srgbft <0.93,0.90,0.82,0.2,0.35>] [1 srgbft <0.88,0.84,0.74,0.2,0.15>] } }"
        f" normal {{ wrinkles 0.4 scale 0.7 }} {finish(0.6, 0.01, 0.05)} }}"
    )
    return grid(np.stack([s, half * u, h], -1), look)
