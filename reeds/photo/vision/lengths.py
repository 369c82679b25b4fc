"""Landmarks in a photo to lengths in millimetres with their standard uncertainty."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Self

from reeds.numbers.late import np
from reeds.numbers.measured import Measured, u_of_limits
from reeds.photo.vision.arrays import Floats, floats, unit
from reeds.photo.vision.camera import SIZE, Frame, Solved, directions, eye, meet_plane, reach_plane

ON_AXIS = ("staple_foot", "thread_end", "scrape_start", "back_start", "tip_start", "tip")
ENDS = ("staple_foot", "tip")
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
# a reed rests on its cork, 3 to 3.5 mm thick to its axis, and tips forward over the cork's front edge by 0 to
# 1.6 degrees: the foot rises, the tip sinks (geometry; tests/raytraced, half `fix`)
# Its two sides as seen tell no better: a radius known to 0.1 in 2.7 mm leaves 9 mm of height at 250 mm
USUAL_HEIGHT_MM = Measured(3.6, 0.25)
USUAL_TIP_HEIGHT_MM = Measured(2.25, 0.5)
# how high over its axis the reed's surface is where the eye sees a landmark, mm. Geometry: the radius at that
# place (foot of a staple, last turn of thread round the throat, the blades' oval, its edge at the tip)
OVER_AXIS_MM = {
    "staple_foot": Measured(2.7, 0.1),
    "thread_end": Measured(2.1, 0.12),
    "scrape_start": Measured(1.4, 0.3),
    "back_start": Measured(1.1, 0.2),
    "tip_start": Measured(0.7, 0.15),
    "tip": Measured(0.5, 0.15),
}
OVER_AXIS = {name: height.value for name, height in OVER_AXIS_MM.items()}
LIFT_ROUNDS = 4
# a reed rolls on its cork by about 5 degrees: seen from one side, one corner of the tip stands nearer
U_ROLL = 0.087
USUAL_REED_MM = 71.0
U_STATED_HEIGHT_MM = 0.05  # half a foot's diameter by caliper, and how it sits; own choice, no source
# a printing factor as stated, to four decimals: limits of +-0.025 %, over sqrt(3)
U_PRINT_FACTOR = 0.00014
# a print whose bar nobody measured: 'fit to the page' makes it up to 3 % smaller or larger (common practice,
# from memory); those as limits, u = a / sqrt(3) (JCGM 100:2008, 4.3.7)
UNMEASURED_PRINT = Measured(1.0, u_of_limits(0.03))
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
class FlatPlane:
    """A plane along the reed: where its foot is, and unit vectors along it and level across it, (3,) each."""

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
Heights = Mapping[str, float]


@dataclass(frozen=True)
class ReedAxis(FlatPlane):
    """The reed's axis as it lies, and from where it is seen.

    Attributes
    ----------
    towards : (3,) array
        Unit vector, square to the axis, towards the eye.
    ends : (foot, tip)
        1 where the eye stands over the reed, so that the outermost edge one sees of an end is that of its
        near side; -1 where it looks at the end from outside and sees its far side beyond it.
    """

    towards: Floats
    ends: tuple[float, float] = (1.0, 1.0)

    def lift(self, name: str, over: Heights) -> Floats:
        """Return the way, (3,) mm, from a landmark's place on the axis to the surface point that is seen."""
        side = dict(zip(ENDS, self.ends, strict=True)).get(name, 1.0)
        return floats(side * over.get(name, 0.0) * self.towards)

    def seen(self, over: Heights) -> FlatPlane:
        """Return the plane through what is seen of foot and tip: that of the reed's visible surface."""
        foot = self.lift(ENDS[0], over)
        along = unit(USUAL_REED_MM * self.along + self.lift(ENDS[1], over) - foot)
        return FlatPlane(self.origin + foot, along, self.across)


def reed_axis(
    numbers: Floats, frame: Frame, points: Points, heights: tuple[float, float], over: Heights = OVER_AXIS
) -> ReedAxis:
    """Return the axis of the reed whose foot and tip are seen.

    Parameters
    ----------
    numbers, frame
        The camera.
    points : mapping of name to (x, y)
        Pixels. Where foot or tip is missing, a level axis at the middle of the two heights stands in.
    heights : (foot, tip)
        Of the axis above the card, mm.
    over : mapping of name to float
        How high over the axis each landmark is seen, mm.
    """
    up = floats([0, 0, -1])
    if not set(ENDS) <= set(points):
        return ReedAxis(up * sum(heights) / 2, floats([1, 0, 0]), floats([0, 1, 0]), up)
    here, rays = eye(numbers), directions(numbers, frame, floats([points[name] for name in ENDS]))
    levels = np.outer(heights, up)
    lifts = np.outer([over[name] for name in ENDS], up)
    for _ in range(LIFT_ROUNDS):  # where the axis runs decides from which side it is seen
        foot, tip = reach_plane(here, rays, levels + lifts, up) - lifts
        axis = _between(foot, tip, here)
        lifts = floats([axis.lift(name, over) for name in ENDS])
    return axis


def _between(foot: Floats, tip: Floats, here: Floats) -> ReedAxis:
    """Return the axis from foot to tip as the eye sees it, all (3,) mm on the table."""
    along = unit(tip - foot)
    reach = float((here - foot) @ along)
    ends = (1.0 if reach > 0 else -1.0, 1.0 if (here - tip) @ along < 0 else -1.0)
    towards = unit(here - foot - reach * along)
    return ReedAxis(foot, along, unit(floats([-along[1], along[0], 0])), towards, ends)


def places(
    numbers: Floats, frame: Frame, points: Points, heights: tuple[float, float], over: Heights = OVER_AXIS
) -> dict[str, Floats]:
    """Return where each landmark lies on the reed: name to (2,) mm along the axis and across it.

    A landmark is seen on the reed's surface, `over` mm over the axis towards the eye; its ray meets the plane
    that lies so high. The tip's corners lie on the axis's own level.
    """
    axis = reed_axis(numbers, frame, points, heights, over)
    pixels = floats(list(points.values())).reshape(-1, 2)
    lifts = floats([axis.lift(name, over) for name in points]).reshape(-1, 3)
    flat = axis.flat(meet_plane(numbers, frame, pixels, axis.origin + lifts, axis.normal) - lifts)
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
    above = [name for name in names if name in OVER_AXIS_MM]
    noise = {} if clicks.u_px else dict.fromkeys(names, scatter(solved, clicks.points, axis).noise_px())
    u_px = {**noise, **clicks.u_px}

    def lengths(inputs: Floats) -> Floats:
        camera, heights, high, pixels = np.split(inputs, [SIZE, SIZE + 2, SIZE + 2 + len(above)])
        points = _named(names, pixels.reshape(-1, 2))
        over = OVER_AXIS | dict(zip(above, high.tolist(), strict=True))
        found = places(camera, solved.frame, points, (float(heights[0]), float(heights[1])), over)
        return floats(list(plain_lengths(found).values()))

    pixels = floats([clicks.points[n] for n in names]).ravel()
    high = [axis.foot.value, axis.tip.value, *(OVER_AXIS[name] for name in above)]
    here = np.concatenate([solved.numbers, high, pixels])
    covariance = np.zeros((len(here), len(here)))
    covariance[:SIZE, :SIZE] = solved.covariance
    u_high = [axis.foot.u, axis.tip.u, *(OVER_AXIS_MM[name].u for name in above)]
    u_others = [*u_high, *(u_px[n] for n in names for _ in "xy")]
    covariance[range(SIZE, len(here)), range(SIZE, len(here))] = floats(u_others) ** 2
    slope = _slope(lengths, here, np.sqrt(np.diag(covariance)))
    values = lengths(here)
    spread = np.sqrt(np.einsum("ij,jk,ik->i", slope, covariance, slope) + (values * print_factor.u) ** 2)
    rolled = U_ROLL * _aside(
        reed_axis(solved.numbers, solved.frame, clicks.points, (axis.foot.value, axis.tip.value))
    )
    found = plain_lengths(dict.fromkeys(names, np.zeros(2)))
    share = [rolled if name == "tip_width" else 0.0 for name in found]
    spread = np.hypot(spread, values * share)
    return {name: Measured(float(v), float(u)) for name, v, u in zip(found, values, spread, strict=True)}


def _aside(axis: ReedAxis) -> float:
    """Return the tangent of the angle by which a reed is seen from its side."""
    return abs(float(axis.towards @ axis.across) / float(axis.towards @ axis.normal))


def _named(names: Sequence[str], pixels: Floats) -> Points:
    return {name: (float(p[0]), float(p[1])) for name, p in zip(names, pixels, strict=True)}


def _slope(function: Callable[[Floats], Floats], here: Floats, scale: Floats) -> Floats:
    steps = np.maximum(scale, 1e-7) * 0.1
    return np.stack([(function(here + s) - function(here - s)) / (2 * s.max()) for s in np.diag(steps)], 1)
