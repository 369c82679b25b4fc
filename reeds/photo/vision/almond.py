"""Where the gap between the blades is: the dark almond in a picture taken tip-on, found coarsely."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations

import cv2
import numpy as np
import numpy.typing as npt

from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Floats, Mask, floats
from reeds.photo.vision.refusal import PhotoRefused

Spots = npt.NDArray[np.int32]
# own choices, tried on tests/simulator and on tests/raytraced, half `fix`; no source
LEVELS = 28  # thresholds between the picture's darkest and its brightest
MOST_PARTS = 8  # dark regions at one level that are looked at, the largest
LEAST_AREA_PX = 60
LEAST_LONG = 0.05  # of the picture's width
ASPECT_LIMITS = (2.5, 60.0)  # long over short side
FULL_LIMITS = (0.5, 0.82)  # area over that of the rectangle about it: 2/3 between two parabolas
LEAST_CONTRAST_GREY = 14.0
STEEPEST_ROLL_DEGREES = 40.0
ROUND = 240  # places at which a rim is looked at
LEAST_RISING = 0.9  # of the rim, from dark inside to bright outside
STEEP_ENOUGH = 0.5  # of the steepest rim in the picture
# what lies in an almond and is nearly as long is the gap in the blades' silhouette, what is shorter a dark
# part of the gap, beside which one sees light through the staple
AS_LONG, SMALLER, WITHIN = 0.72, 0.6, 0.9
ALIKE = 0.75  # two finds of one gap: area, and what they share
NO_GAP = gettext_noop(
    "No opening can be seen: photograph the tip from straight ahead, near and sharp, against a plain wall."
)


@dataclass(frozen=True)
class Almond:
    """A convex region that may be the gap.

    Attributes
    ----------
    hull : (n, 2) array
        Its corners in order, px of the picture that was searched.
    rise : float
        How much brighter it is just outside, grey, the median all round.
    long : float
        Its long side, px.
    area : float
        px.
    """

    hull: Floats
    rise: float
    long: float
    area: float

    def shares(self, other: Almond) -> float:
        """Return which share of this one lies in the other."""
        common, _ = cv2.intersectConvexConvex(self.hull.astype(np.float32), other.hull.astype(np.float32))
        return float(common) / max(self.area, 1e-9)


def find_almond(light: Floats) -> Almond:
    """Find the gap, darker than the blades round it, whatever light there is inside.

    Parameters
    ----------
    light : (height, width) array
        Grey, 0 to 255, the picture shrunk.

    Raises
    ------
    PhotoRefused
        If nothing dark there has the shape.
    """
    low, high = np.percentile(light, [0.5, 99.5])
    found = [
        almond
        for level in np.linspace(low, high, LEVELS + 2)[1:-1]
        for spots in _regions(light, float(level))
        if (almond := _judged(light, spots)) is not None
    ]
    if not found:
        raise PhotoRefused(NO_GAP)
    steepest = max(almond.rise for almond in found)
    return _chosen([almond for almond in found if almond.rise > STEEP_ENOUGH * steepest])


def _chosen(found: list[Almond]) -> Almond:
    chosen = max(found, key=lambda almond: almond.long)
    while inner := [almond for almond in found if _is_gap_of(almond, chosen)]:
        chosen = max(inner, key=lambda almond: almond.area)
    same = [a for a in found if min(a.shares(chosen), chosen.shares(a)) >= ALIKE]
    return max(same, key=lambda almond: almond.rise)


def _is_gap_of(one: Almond, whole: Almond) -> bool:
    smaller = one.area < SMALLER * whole.area and one.long > AS_LONG * whole.long
    return smaller and one.shares(whole) > WITHIN


def _regions(light: Floats, level: float) -> Iterator[Spots]:
    """Yield the outlines of what is darker than a level, one by one and two together.

    Light that falls through the staple cuts the gap in two.
    """
    height, width = light.shape
    _, labels, stats, _ = cv2.connectedComponentsWithStats((light < level).astype(np.uint8))
    whole = [
        n
        for n, (x, y, w, h, area) in enumerate(stats.tolist())
        if n and area > LEAST_AREA_PX and x > 0 and y > 0 and x + w < width and y + h < height
    ]
    largest = sorted(whole, key=lambda n: -int(stats[n, 4]))[:MOST_PARTS]
    outlines = {n: _outline(np.asarray(labels == n), stats[n]) for n in largest}
    yield from outlines.values()
    for one, other in combinations(largest, 2):
        if _side_by_side(stats[one], stats[other]):
            yield np.vstack([outlines[one], outlines[other]])


def _outline(region: Mask, stat: Spots) -> Spots:
    x, y, w, h, _ = stat.tolist()
    part = region[y : y + h, x : x + w].astype(np.uint8)
    outlines, _ = cv2.findContours(part, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return np.asarray(max(outlines, key=len).reshape(-1, 2) + np.array([x, y]), np.int32)


def _side_by_side(one: Spots, other: Spots) -> bool:
    between = max(one[0], other[0]) - min(one[0] + one[2], other[0] + other[2])
    return bool(-3 <= between < 0.7 * (one[2] + other[2]))


def _judged(light: Floats, spots: Spots) -> Almond | None:
    hull = floats(cv2.convexHull(spots).reshape(-1, 2))
    short, long = sorted(cv2.minAreaRect(hull.astype(np.float32))[1])
    if short < 3 or long < LEAST_LONG * light.shape[1] or abs(_roll(hull)) > STEEPEST_ROLL_DEGREES:
        return None
    area = float(cv2.contourArea(hull.astype(np.float32)))
    aspect, full = long / short, area / (long * short)
    if not _between(aspect, ASPECT_LIMITS) or not _between(full, FULL_LIMITS):
        return None
    rise = _rise_about(light, hull)
    typical, rising = float(np.median(rise)), float((rise > LEAST_CONTRAST_GREY / 2).mean())
    if typical < LEAST_CONTRAST_GREY or rising < LEAST_RISING:
        return None
    return Almond(hull, typical, float(long), area)


def _between(value: float, limits: tuple[float, float]) -> bool:
    return limits[0] < value < limits[1]


def _roll(hull: Floats) -> float:
    """Return by how much the line between the two places farthest apart is turned, degrees."""
    x, y = longest_way(hull)
    return float(np.degrees(np.arctan2(y * np.sign(x), abs(x))))


def longest_way(hull: Floats) -> Floats:
    """Return the way between the two places of a region, (n, 2), that lie farthest apart, (2,)."""
    apart = hull[:, None] - hull[None]
    one, other = np.unravel_index(np.argmax((apart**2).sum(axis=2)), apart.shape[:2])
    return floats(apart[one, other])


def _rise_about(light: Floats, hull: Floats) -> Floats:
    """Return how much brighter it is outside than inside, all round, (ROUND,) grey."""
    closed = np.vstack([hull, hull[:1]])
    run = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    at = np.linspace(0, run[-1], ROUND, endpoint=False)
    rim = np.column_stack([np.interp(at, run, closed[:, i]) for i in (0, 1)])
    way = np.roll(rim, -3, axis=0) - np.roll(rim, 3, axis=0)
    out = np.column_stack([way[:, 1], -way[:, 0]]) / np.maximum(np.linalg.norm(way, axis=1), 1e-9)[:, None]
    if ((rim - hull.mean(axis=0)) * out).sum() < 0:
        out = -out
    return floats(_level(light, rim, out, (2, 3)).max(axis=0) - _level(light, rim, out, (-1, -2)).min(axis=0))


def _level(light: Floats, rim: Floats, out: Floats, distances: Iterable[int]) -> Floats:
    places = [np.round(rim + d * out).astype(int) for d in distances]
    last = np.array(light.shape) - 1
    return floats([light[np.clip(p[:, 1], 0, last[0]), np.clip(p[:, 0], 0, last[1])] for p in places])
