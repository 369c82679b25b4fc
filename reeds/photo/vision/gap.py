"""Finding the gap between the blades, and the blades' corners, in a picture taken tip-on."""

from __future__ import annotations

import cv2
import numpy as np

from reeds.photo.vision.almond import find_almond, longest_way
from reeds.photo.vision.arrays import Floats, Pixels, floats
from reeds.photo.vision.corners import find_corners
from reeds.photo.vision.edges import LIGHT, Edges, Strip, follow
from reeds.photo.vision.lips import refuse_what_is_no_gap
from reeds.photo.vision.opening import Outline
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.sampling import resample
from reeds.photo.vision.upright import UprightPicture

SEARCH_LONG_SIDE_PX = 800  # the picture is shrunk to this to look for the gap
STRIP_WIDTH_PX = 900  # of the gap once turned level


def find_outline(picture: UprightPicture) -> Outline:
    """Find the gap's outline and the blades' corners.

    Parameters
    ----------
    picture : UprightPicture
        Upright, the marked blade up, rolled by at most 40 degrees.

    Raises
    ------
    PhotoRefused
        If no gap enclosed by blades of another brightness can be seen, or what can be seen has not the shape
        of one.
    """
    try:
        return _outline_of(picture, LIGHT)
    except PhotoRefused as refusal:
        try:
            # lit from the foot the gap is the bright one: the same search in the negative
            return _outline_of(UprightPicture(255 - picture.rgb), floats(255 - LIGHT[::-1]))
        except PhotoRefused:
            raise refusal from None


def _outline_of(picture: UprightPicture, light: Floats) -> Outline:
    """Find a gap that is darker than the blades around it; `light`, (256,), is that of each grey."""
    # cane is bright in red and green whatever the lamp; a bluish background is not
    grey = np.asarray(picture.rgb[..., :2].mean(axis=2), np.float32)
    shrink = min(1.0, SEARCH_LONG_SIDE_PX / max(grey.shape))
    small = cv2.resize(grey, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    almond = find_almond(floats(cv2.GaussianBlur(small, (0, 0), 1.0)))
    hull = floats((almond.hull + 0.5) / shrink)
    for _ in range(2):  # light in the gap may have hidden one end of it: cut out anew about what was followed
        strip = _level_strip(picture, hull, light)
        edges = follow(strip, floats(np.column_stack(strip.into(hull))))
        hull = _about(strip, edges)
    left, right = find_corners(strip, edges)
    ends = strip.back(floats([left.x, right.x]), floats([left.y, right.y]))
    outline = Outline(
        ends[0],
        ends[1],
        strip.back(edges.columns, edges.upper),
        strip.back(edges.columns, edges.lower),
        u_px=strip.step * edges.u,
        u_corner_px=strip.step * float(np.hypot(left.u, right.u) / np.sqrt(2)),
    )
    refuse_what_is_no_gap(outline)
    return outline


def _about(strip: Strip, edges: Edges) -> Floats:
    """Return the corners of what was followed, in order, (n, 2) px of the picture."""
    round_ = [edges.columns, edges.columns[::-1]], [edges.upper, edges.lower[::-1]]
    return strip.back(*(np.concatenate(part) for part in round_))[:: max(1, len(edges.columns) // 40)]


def _level_strip(picture: UprightPicture, hull: Floats, light: Floats) -> Strip:
    way = longest_way(hull)
    along = floats(way / np.linalg.norm(way) * np.sign(way[0]))
    across = floats([-along[1], along[0]])
    middle = hull.mean(axis=0)
    x, y = (hull - middle) @ along, (hull - middle) @ across
    width, height = float(np.ptp(x)), float(np.ptp(y))
    step = max(0.5, width / STRIP_WIDTH_PX)
    reach, rise = 0.85 * width, 1.3 * height + 0.12 * width
    corner = floats(
        middle + (x.min() + x.max() - 2 * reach) / 2 * along + (y.min() + y.max() - 2 * rise) / 2 * across
    )
    u, v = np.meshgrid(np.arange(0.5, 2 * reach / step), np.arange(0.5, 2 * rise / step))
    place = floats(corner + step * (u[..., None] * along + v[..., None] * across) - 0.5)
    source, place = _cut(picture.rgb, place)
    if step >= 1.5:
        source = np.asarray(cv2.GaussianBlur(source, (0, 0), 0.35 * step), np.uint8)
    rgb, lit = _read(source, place), _read(floats(light[source[..., :2]]), place)
    return Strip(rgb, floats(lit.mean(axis=2)), corner, along, across, step)


def _cut(rgb: Pixels, place: Floats) -> tuple[Pixels, Floats]:
    """Return the part of a picture in which places lie, and the places in it."""
    width, height = rgb.shape[1], rgb.shape[0]
    low = np.clip(np.floor(place.min(axis=(0, 1))) - 8, 0, [width - 1, height - 1]).astype(int)
    high = np.clip(np.ceil(place.max(axis=(0, 1))) + 9, low + 1, [width, height]).astype(int)
    return rgb[low[1] : high[1], low[0] : high[0]], floats(place - low)


def _read(source: Floats | Pixels, place: Floats) -> Floats:
    return floats(cv2.GaussianBlur(resample(source, place[..., 0], place[..., 1]), (0, 0), 1.0))
