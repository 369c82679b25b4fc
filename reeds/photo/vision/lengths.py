"""Landmarks in a photo to lengths in millimetres with their standard uncertainty."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Self

import numpy as np

from reeds.numbers.measured import Measured
from reeds.photo.vision.arrays import Floats, floats, unit
from reeds.photo.vision.camera import SIZE, Frame, meet_plane
from reeds.photo.vision.solve import Solved

ON_AXIS = ("staple_foot", "thread_end", "scrape_start", "back_start", "tip_start", "tip")
LANDMARKS = (*ON_AXIS, "tip_left", "tip_right")
LENGTHS: dict[str, tuple[str, str]] = {
    "tie_length": ("staple_foot", "tip"),
    "overall_length": ("staple_foot", "tip"),
    "scrape_length": ("scrape_start", "tip"),
    "tip_length": ("tip_start", "tip"),
    "heart_length": ("tip_start", "back_start"),
    "back_length": ("back_start", "scrape_start"),
    "bark_length": ("scrape_start", "thread_end"),
    "cane_beyond_thread": ("thread_end", "tip"),
    "foot_to_thread_end": ("staple_foot", "thread_end"),
    "tip_width": ("tip_left", "tip_right"),
}
USUAL_HEIGHT_MM = Measured(3.25, 0.25 / np.sqrt(3))  # half a staple's foot, 3 to 3.5 mm
USUAL_TIP_HEIGHT_MM = Measured(3.25, 0.5)  # the reed tips forward, nobody says how far
U_STATED_HEIGHT_MM = 0.05  # half a foot's diameter by caliper, and how it sits; own choice, no source
# a printing factor as stated, to four decimals: limits of +-0.025 %, over sqrt(3)
U_PRINT_FACTOR = 0.00014
# two-sided 95.45 % points of Student's t over 2, so that k = 2 holds as much for few degrees of freedom
# (JCGM 100:2008, Table G.2)
T_OVER_TWO = {
    1: 6.985,
    2: 2.265,
    3: 1.655,
    4: 1.435,
    5: 1.325,
    6: 1.26,
    7: 1.215,
    8: 1.185,
    9: 1.16,
    10: 1.14,
}
UNSEEN_CLICK_PX = 0.7
LEAST_FREEDOM = 2


@dataclass(frozen=True)
class Axis:
    """How high the reed's axis runs above the card: at the foot and at the tip, mm."""

    foot: Measured = USUAL_HEIGHT_MM
    tip: Measured = USUAL_TIP_HEIGHT_MM


@dataclass(frozen=True)
class AxisPlane:
    """The plane of the reed's axis and of its width.

    Attributes
    ----------
    origin : (3,) array
        The foot, mm on the table.
    along, across : (3,) arrays
        Unit vectors: from foot to tip, and level across it.
    """

    origin: Floats
    along: Floats
    across: Floats

    @property
    def normal(self) -> Floats:
        """The plane's normal, (3,)."""
        return np.cross(self.along, self.across)

    def flat(self, points: Floats) -> Floats:
        """Return points of the plane, (n, 3) mm, as (n, 2) mm along and across from the foot."""
        from_foot = points - self.origin
        return np.column_stack([from_foot @ self.along, from_foot @ self.across])


Points = Mapping[str, tuple[float, float]]


def axis_plane(numbers: Floats, frame: Frame, points: Points, heights: tuple[float, float]) -> AxisPlane:
    """Return the axis plane through the foot and tip as seen.

    Parameters
    ----------
    numbers, frame
        The camera.
    points : mapping of name to (x, y)
        Pixels. Where foot or tip is missing, a level plane at the middle of the two heights stands in.
    heights : (foot, tip)
        Of the axis above the card, mm.
    """
    flat = floats([0, 0, 1])
    if not {"staple_foot", "tip"} <= set(points):
        return AxisPlane(floats([0, 0, -sum(heights) / 2]), floats([1, 0, 0]), floats([0, 1, 0]))
    foot, tip = (
        meet_plane(numbers, frame, floats([points[name]]), floats([0, 0, -height]), flat)[0]
        for name, height in zip(("staple_foot", "tip"), heights, strict=True)
    )
    along = unit(tip - foot)
    return AxisPlane(foot, along, unit(floats([-along[1], along[0], 0])))


def places(numbers: Floats, frame: Frame, points: Points, heights: tuple[float, float]) -> dict[str, Floats]:
    """Return where each landmark lies in the axis plane: name to (2,) mm along and across."""
    plane = axis_plane(numbers, frame, points, heights)
    pixels = floats(list(points.values())).reshape(-1, 2)
    flat = plane.flat(meet_plane(numbers, frame, pixels, plane.origin, plane.normal))
    return dict(zip(points, flat, strict=True))


def plain_lengths(found: Mapping[str, Floats]) -> dict[str, float]:
    """Return every length that `found` allows: distances in the axis plane, mm."""
    return {
        name: float(np.linalg.norm(found[a] - found[b]))
        for name, (a, b) in LENGTHS.items()
        if a in found and b in found
    }


@dataclass(frozen=True)
class Clicks:
    """Landmarks in pixels with the doubt of each.

    Attributes
    ----------
    points : mapping of name to (x, y)
    u_px : mapping of name to float
        Standard uncertainty of each coordinate, px; empty: judged from how far the landmarks are
        from one straight line.
    """

    points: Points
    u_px: Mapping[str, float] = field(default_factory=dict)

    def to_json(self) -> dict[str, list[float]]:
        """Return [x, y, u] by name, px, as a stored row keeps them; every landmark needs its doubt."""
        return {
            name: [round(x, 2), round(y, 2), round(self.u_px[name], 3)]
            for name, (x, y) in self.points.items()
        }

    @classmethod
    def from_json(cls, stored: Mapping[str, Sequence[float]]) -> Self:
        """Return what `to_json` wrote."""
        points = {name: (x, y) for name, (x, y, _) in stored.items()}
        return cls(points, {name: u for name, (_, _, u) in stored.items()})


@dataclass(frozen=True)
class Scatter:
    """A sum of squares, px2, over so many degrees of freedom."""

    squares: float = 0.0
    freedom: int = 0

    def noise_px(self) -> float:
        """Return the standard uncertainty of one coordinate, px, widened so that k = 2 holds 95.45 %.

        Student's t over 2 does the widening. Fewer than two degrees of freedom are topped up with
        a believed 0.7 px (common practice, from memory). Source: JCGM 100:2008, 4.2 and Table G.2.
        """
        lacking = max(0, LEAST_FREEDOM - self.freedom)
        total = self.freedom + lacking
        noise = np.sqrt((self.squares + lacking * UNSEEN_CLICK_PX**2) / total)
        return float(noise) * T_OVER_TWO[min(total, 10)]


def scatter(solved: Solved, points: Points, axis: Axis) -> Scatter:
    """Judge the noise of clicks from the clicks themselves.

    The landmarks on the axis lie on one straight line, and so does the middle between the tip's
    corners; how far they scatter across it says how finely they were set (a type A evaluation, JCGM
    100:2008, 4.2). So exact landmarks get a small doubt and shaky ones a large one, without anyone
    having to say which they are.
    """
    heights = (axis.foot.value, axis.tip.value)
    found = places(solved.numbers, solved.frame, points, heights)
    line = [found[name] for name in ON_AXIS if name in found]
    sure = [1.0] * len(line)
    if {"tip_left", "tip_right"} <= set(found):
        line.append((found["tip_left"] + found["tip_right"]) / 2)
        sure.append(float(np.sqrt(2)))  # the mean of two clicks
    if len(line) < 3:
        return Scatter()
    along, across = floats(line).T
    fit = np.polynomial.Polynomial.fit(along, across, 1, w=sure)
    off = (across - fit(along)) * sure * px_per_mm(solved, points, axis)
    return Scatter(float(off @ off), len(line) - 2)


def px_per_mm(solved: Solved, points: Points, axis: Axis) -> float:
    """Return how many pixels a millimetre of the axis plane takes where the reed lies."""
    pixels = floats(list(points.values())).reshape(-1, 2)
    spot = pixels.mean(axis=0)
    corners = {"a": spot, "b": spot + floats([1, 0]), "c": spot + floats([0, 1])}
    reed = {k: v for k, v in points.items() if k in ("staple_foot", "tip")}
    named = {**reed, **{k: (float(v[0]), float(v[1])) for k, v in corners.items()}}
    found = places(solved.numbers, solved.frame, named, (axis.foot.value, axis.tip.value))
    step = np.column_stack([found["b"] - found["a"], found["c"] - found["a"]])
    return float(1 / np.sqrt(abs(np.linalg.det(step))))


def measure(solved: Solved, clicks: Clicks, axis: Axis, print_factor: Measured) -> dict[str, Measured]:
    """Return every length with its standard uncertainty.

    Parameters
    ----------
    solved : Solved
        The camera, found on a card already multiplied by the printing factor.
    clicks : Clicks
    axis : Axis
    print_factor : Measured
        True length over nominal length of the printed card; only its u is used here.

    Returns
    -------
    dict of name to Measured
        mm; the names of `LENGTHS` whose two landmarks are there.

    Source
    ------
    Law of propagation of uncertainty, JCGM 100:2008, 5.1.2 and 5.2.2, by numeric derivatives.
    """
    names = list(clicks.points)
    noise = {} if clicks.u_px else dict.fromkeys(names, scatter(solved, clicks.points, axis).noise_px())
    u_px = {**noise, **clicks.u_px}

    def lengths(inputs: Floats) -> Floats:
        pixels = inputs[SIZE + 2 :].reshape(-1, 2)
        points = {n: (float(p[0]), float(p[1])) for n, p in zip(names, pixels, strict=True)}
        heights = (float(inputs[SIZE]), float(inputs[SIZE + 1]))
        return floats(list(plain_lengths(places(inputs[:SIZE], solved.frame, points, heights)).values()))

    pixels = floats([clicks.points[n] for n in names]).ravel()
    here = np.concatenate([solved.numbers, [axis.foot.value, axis.tip.value], pixels])
    covariance = np.zeros((len(here), len(here)))
    covariance[:SIZE, :SIZE] = solved.covariance
    u_others = [axis.foot.u, axis.tip.u, *(u_px[n] for n in names for _ in "xy")]
    covariance[range(SIZE, len(here)), range(SIZE, len(here))] = floats(u_others) ** 2
    slope = _slope(lengths, here, np.sqrt(np.diag(covariance)))
    values = lengths(here)
    spread = np.sqrt(np.einsum("ij,jk,ik->i", slope, covariance, slope) + (values * print_factor.u) ** 2)
    found = plain_lengths(dict.fromkeys(names, np.zeros(2)))
    return {name: Measured(float(v), float(u)) for name, v, u in zip(found, values, spread, strict=True)}


def _slope(function: Callable[[Floats], Floats], here: Floats, scale: Floats) -> Floats:
    steps = np.maximum(scale, 1e-7) * 0.1
    return np.stack([(function(here + s) - function(here - s)) / (2 * s.max()) for s in np.diag(steps)], 1)
