"""Finding the gap between the blades, and the blades' corners, in a picture taken tip-on."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Floats, Mask, Pixels, floats
from reeds.photo.vision.lips import refuse_what_is_no_gap
from reeds.photo.vision.opening import Outline
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.sampling import resample
from reeds.photo.vision.upright import UprightPicture

Rows = npt.NDArray[np.int64]
# own choices, tried on the simulator's openings; no source
SEARCH_LONG_SIDE_PX = 800  # the picture is shrunk to this to look for the gap
SEARCH_LEVELS = 28  # thresholds between its darkest and its brightest
ASPECT_LIMITS = (2.5, 60.0)  # long over short side
LEAST_SOLIDITY = 0.75  # area over that of the convex hull
LEAST_CONTRAST_GREY = 14.0
STEEPEST_ROLL_DEGREES = 40.0
STRIP_WIDTH_PX = 900  # of the gap once turned level
# what is dark between two lips is lower than they stand apart, as lips are round and take shade: by nothing
# in tests/simulator, by 5 % of the height in tests/raytraced, half `fix`; half of that is corrected
LIP_SHARE, U_LIP_SHARE = 0.025, 0.03
NO_GAP = gettext_noop(
    "No opening can be seen: photograph the tip from straight ahead, near and sharp, against a plain wall."
)
NO_ROOM = gettext_noop(
    "The opening runs on to the edge of what is seen: leave room on both sides of the tip."
)


@dataclass(frozen=True)
class Candidate:
    """A dark region that may be the gap: its pixels, how steep its rim is, its size."""

    mask: Mask
    rim: float
    area: float


@dataclass(frozen=True)
class Strip:
    """The gap's surroundings turned level: `rgb` and `light`, and the way back to the picture."""

    rgb: Floats
    light: Floats
    corner: Floats
    along: Floats
    across: Floats
    step: float

    def back(self, x: Floats, y: Floats) -> Floats:
        """Return places of the strip, px from its outer corner, as pixels of the picture, (n, 2)."""
        return floats(self.corner + self.step * (np.outer(x, self.along) + np.outer(y, self.across)))


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
        return _outline_of(picture)
    except PhotoRefused as refusal:
        try:
            # lit from the foot the gap is the bright one: the same search in the negative
            return _outline_of(UprightPicture(255 - picture.rgb))
        except PhotoRefused:
            raise refusal from None


def _outline_of(picture: UprightPicture) -> Outline:
    """Find a gap that is darker than the blades around it."""
    light = _light(picture.rgb)
    shrink = min(1.0, SEARCH_LONG_SIDE_PX / max(light.shape))
    small = cv2.resize(light, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    gap = _coarse_gap(floats(cv2.GaussianBlur(small, (0, 0), 1.0)))
    strip = _level_strip(picture, gap, shrink)
    edges = _edges(strip)
    left, right = (_corner(strip, edges, side) for side in (-1, 1))
    ends = strip.back(floats([left[0], right[0]]), floats([left[1], right[1]]))
    scale, middle = strip.step, len(edges.columns) // 2
    height = float(np.median((edges.lower - edges.upper)[middle - 10 : middle + 11]))
    out = LIP_SHARE / 2 * height
    outline = Outline(
        ends[0],
        ends[1],
        strip.back(edges.columns, edges.upper - out),
        strip.back(edges.columns, edges.lower + out),
        u_px=float(np.hypot(scale * max(0.3, 0.15 * edges.width), U_LIP_SHARE / np.sqrt(2) * scale * height)),
        u_corner_px=scale * max(1.0, 0.2 * edges.width),
    )
    refuse_what_is_no_gap(outline)
    return outline


def _light(rgb: Pixels) -> Floats:
    # cane is bright in red and green whatever the lamp; a bluish background is not
    return floats(rgb[..., :2].mean(axis=2))


def _coarse_gap(light: Floats) -> Mask:
    steep = floats(np.hypot(cv2.Sobel(light, cv2.CV_64F, 1, 0), cv2.Sobel(light, cv2.CV_64F, 0, 1)))
    low, high = np.percentile(light, [0.5, 99.5])
    levels = np.linspace(low, high, SEARCH_LEVELS + 2)[1:-1]
    found = [c for level in levels for c in _candidates(light, steep, float(level))]
    if not found:
        raise PhotoRefused(NO_GAP)
    steepest = max(c.rim for c in found)
    # the blades' own silhouette against a bright wall is as steep as the gap in it: the inner one is meant
    fit = [c for c in found if c.rim > 0.4 * steepest]
    inner = min(fit, key=lambda c: c.area)
    same = [c for c in fit if c.area < 2.5 * inner.area and (c.mask & inner.mask).sum() > 0.8 * inner.area]
    return max(same, key=lambda c: c.rim).mask


def _candidates(light: Floats, steep: Floats, level: float) -> list[Candidate]:
    height, width = light.shape
    _, labels, stats, _ = cv2.connectedComponentsWithStats((light < level).astype(np.uint8))
    found = []
    for number in range(1, len(stats)):
        x, y, w, h, area = (int(v) for v in stats[number])
        inside = x > 0 and y > 0 and x + w < width and y + h < height
        if inside and area > 60 and w > 0.05 * width:
            found.append(_judge(light, steep, np.asarray(labels == number), float(area)))
    return [c for c in found if c is not None]


def _judge(light: Floats, steep: Floats, mask: Mask, area: float) -> Candidate | None:
    shape = mask.astype(np.uint8)
    outlines, _ = cv2.findContours(shape, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    outline = max(outlines, key=len)
    sides = sorted(cv2.minAreaRect(outline)[1])
    hull = float(cv2.contourArea(cv2.convexHull(outline)))
    if (
        sides[0] < 2
        or not ASPECT_LIMITS[0] < sides[1] / sides[0] < ASPECT_LIMITS[1]
        or area < LEAST_SOLIDITY * hull
    ):
        return None
    if abs(_roll(mask)) > STEEPEST_ROLL_DEGREES:
        return None
    ring = np.asarray(cv2.dilate(shape, np.ones((9, 9), np.uint8)) > 0) & ~mask
    if float(np.median(light[ring]) - np.median(light[mask])) < LEAST_CONTRAST_GREY:
        return None
    spots = outline.reshape(-1, 2)
    return Candidate(mask, float(np.median(steep[spots[:, 1], spots[:, 0]])), area)


def _roll(mask: Mask) -> float:
    rows, columns = np.nonzero(mask)
    spots = np.column_stack([columns, rows]).astype(float)
    along = np.linalg.svd(spots - spots.mean(axis=0), full_matrices=False)[2][0]
    return float(np.degrees(np.arctan2(along[1] * np.sign(along[0]), abs(along[0]))))


def _level_strip(picture: UprightPicture, gap: Mask, shrink: float) -> Strip:
    rows, columns = np.nonzero(gap)
    spots = (np.column_stack([columns, rows]) + 0.5) / shrink
    roll = np.radians(_roll(gap))
    along = floats([np.cos(roll), np.sin(roll)])
    across = floats([-along[1], along[0]])
    middle = spots.mean(axis=0)
    x, y = (spots - middle) @ along, (spots - middle) @ across
    width, height = float(np.ptp(x)), float(np.ptp(y))
    step = max(0.5, width / STRIP_WIDTH_PX)
    reach, rise = 0.85 * width, 1.3 * height + 0.12 * width
    corner = (
        middle
        + (x.min() + x.max()) / 2 * along
        + (y.min() + y.max()) / 2 * across
        - reach * along
        - rise * across
    )
    u, v = np.meshgrid(np.arange(0.5, 2 * reach / step), np.arange(0.5, 2 * rise / step))
    place = corner + step * (u[..., None] * along + v[..., None] * across) - 0.5
    source = (
        picture.rgb
        if step < 1.5
        else np.asarray(cv2.GaussianBlur(picture.rgb, (0, 0), 0.35 * step), np.uint8)
    )
    rgb = floats(cv2.GaussianBlur(resample(source, place[..., 0], place[..., 1]), (0, 0), 1.0))
    return Strip(rgb, rgb[..., :2].mean(axis=2), corner, along, across, step)


def _edges(strip: Strip) -> Edges:
    """Return the gap's edges, column by column, as far as it is open."""
    light = strip.light
    width = light.shape[1]
    rows = _valley(light)
    dark, blade, slope = _levels(light, rows)
    level = (dark + blade) / 2
    found = [_column(light[:, c], int(rows[c]), level[:, c]) for c in range(width)]
    there = np.array([f is not None for f in found])
    first, last = _run_around(there, width // 2)
    kept = [f for f in found[first : last + 1] if f is not None]
    if len(kept) < 0.2 * width:
        raise PhotoRefused(NO_GAP)
    upper, lower = (floats([k[i] for k in kept]) for i in range(2))
    columns = np.arange(first, last + 1)[there[first : last + 1]] + 0.5
    return Edges(columns, _smooth(upper, 7), _smooth(lower, 7), slope)


def _levels(light: Floats, rows: Rows) -> tuple[float, Floats, float]:
    """Return how dark the gap is, how bright the blade above and below it in each column, the edges' width.

    Both are taken where the gap is surely open, in the middle half of its length, and carried outwards:
    beyond its ends there is only cane, which must not pass for a gap before a bright wall.
    """
    width = light.shape[1]
    sure = range(round(0.33 * width), round(0.67 * width))
    dark = float(np.median([light[rows[c], c] for c in sure]))
    tops = floats([[_plateau(part) for part in _both_ways(light[:, c], int(rows[c]))] for c in sure])
    blade = np.vstack([_carry(_smooth(tops[:, i, 0], 31), sure.start, width) for i in (0, 1)])
    steep = np.median(tops[:, :, 1])
    if float(np.median(blade)) - dark < LEAST_CONTRAST_GREY or steep <= 0:
        raise PhotoRefused(NO_GAP)
    return dark, blade, float((np.median(blade) - dark) / steep)


def _carry(known: Floats, start: int, width: int) -> Floats:
    """Return levels for every column: as known in the middle, as at its ends beyond."""
    return floats(np.interp(np.arange(width), np.arange(start, start + len(known)), known))


def _both_ways(light: Floats, row: int) -> tuple[Floats, Floats]:
    return light[: row + 1][::-1], light[row:]


def _plateau(light: Floats) -> tuple[float, float]:
    """Return how bright the first thing met on the way out of the gap is, and how steep its edge."""
    rise = np.diff(light[: max(8, round(0.8 * len(light)))])
    if len(rise) < 3:
        return float(light[-1]), 0.0
    at = int(np.argmax(rise > 0.5 * rise.max()))
    while at + 1 < len(rise) and rise[at + 1] > rise[at]:
        at += 1
    steep = float(rise[at])
    while at + 1 < len(rise) and rise[at] > 0.15 * steep:
        at += 1
    return float(light[at]), steep


def _valley(light: Floats) -> Rows:
    """Return the darkest row of each column near the strip's middle, followed outwards from the middle."""
    height, width = light.shape
    rows = np.zeros(width, dtype=np.int64)
    step = max(1, height // 60)
    start = height // 2
    band = slice(height // 4, 3 * height // 4)
    profile = light[band, width // 2 - 3 : width // 2 + 4].mean(axis=1)
    start = height // 4 + int(np.median(np.flatnonzero(profile <= profile.min() + 0.2 * np.ptp(profile))))
    for way in (1, -1):
        here = start
        stop = width if way == 1 else -1
        for column in range(width // 2, stop, way):
            low = max(0, here - step)
            part = light[low : here + step + 1, column]
            dark = np.flatnonzero(part <= part.min() + 2)
            # the middle of the darkest stretch, so that the valley does not wander within a wide gap
            here = low + round(float(dark.mean()))
            rows[column] = here
    return rows


def _column(light: Floats, row: int, level: Floats) -> tuple[float, float] | None:
    """Return upper and lower edge in one column, px; None where there is no gap."""
    if light[row] >= level.min():
        return None
    up, down = (_rise(part, float(t)) for part, t in zip(_both_ways(light, row), level, strict=True))
    return None if up is None or down is None else (row + 0.5 - up, row + 0.5 + down)


def _rise(light: Floats, level: float) -> float | None:
    over = np.flatnonzero(light >= level)
    if len(over) == 0 or over[0] == 0:
        return None
    i = int(over[0])
    return i - 1 + float((level - light[i - 1]) / (light[i] - light[i - 1]))


def _run_around(there: Mask, middle: int) -> tuple[int, int]:
    """Return first and last column of the unbroken run (gaps of a few columns forgiven) at the middle."""
    known = np.asarray(np.convolve(there, np.ones(9), "same") > 0)
    if not known[middle]:
        raise PhotoRefused(NO_GAP)
    holes = np.flatnonzero(~known)
    first = int(holes[holes < middle].max(initial=-1)) + 1
    last = int(holes[holes > middle].min(initial=len(there))) - 1
    inside = np.flatnonzero(there[first : last + 1]) + first
    return int(inside[0]), int(inside[-1])


def _smooth(edge: Floats, window: int) -> Floats:
    """Return a row of values without the spikes of a few, by a running median of an odd window."""
    padded = np.pad(edge, window // 2, mode="edge")
    return floats(np.median(np.lib.stride_tricks.sliding_window_view(padded, window), axis=1))


@dataclass(frozen=True)
class Edges:
    """The gap in a strip: columns, upper and lower edge there, and how wide an edge is, all strip px."""

    columns: Floats
    upper: Floats
    lower: Floats
    width: float

    def from_side(self, side: int) -> Edges:
        """Return the edges as walked in from the left (-1) or from the right (1) end."""
        way = slice(None) if side < 0 else slice(None, None, -1)
        return Edges(self.columns[way], self.upper[way], self.lower[way], self.width)


def _corner(strip: Strip, edges: Edges, side: int) -> tuple[float, float]:
    """Return where the blades end on one side, strip px: the farthest place that still looks like cane."""
    walked = edges.from_side(side)
    end, row = float(walked.columns[0]), float(walked.upper[0] + walked.lower[0]) / 2
    out = np.arange(0.0, (end if side < 0 else strip.light.shape[1] - end) - 1)
    if not len(out):  # nothing of the blades is seen beyond the gap: where they end cannot be
        raise PhotoRefused(NO_ROOM)
    best = (end, row)
    spread = 0.05 * len(walked.columns)
    cane = _cane_near(strip, walked)
    for off in np.linspace(-spread, spread, 31):
        x, y = end + side * out - 0.5, np.full(len(out), row + off - 0.5)
        far = _leave(resample(strip.rgb, x[None], y[None]).reshape(-1, 3), cane)
        if far is not None and far > abs(best[0] - end):
            best = (end + side * far, row + off)
    return best


def _cane_near(strip: Strip, walked: Edges) -> Floats:
    """Return the blades' colour, (3,), just outside the gap not far from one of its ends."""
    some = slice(len(walked.columns) // 20, len(walked.columns) // 5)
    away = max(2.0, 0.8 * walked.width)
    rows = np.concatenate([walked.upper[some] - away, walked.lower[some] + away])
    x = np.tile(walked.columns[some], 2)
    return floats(np.median(resample(strip.rgb, x[None] - 0.5, rows[None] - 0.5).reshape(-1, 3), axis=0))


def _leave(colours: Floats, cane: Floats) -> float | None:
    """Return where a walk outwards leaves the cane for the background, px, or None if it never was on it."""
    beyond = int(0.7 * len(colours))
    for _ in range(2):
        background = np.median(colours[beyond : beyond + max(5, len(colours) // 6)], axis=0)
        way = cane - background
        if float(np.linalg.norm(way)) < LEAST_CONTRAST_GREY:
            return None
        share = (colours - background) @ way / float(way @ way)
        start = np.flatnonzero(share[: max(4, len(share) // 8)] > 0.5)
        if len(start) == 0:
            return None
        under = np.flatnonzero(share[start[-1] :] < 0.5)
        if len(under) == 0:
            return None
        i = int(under[0]) + int(start[-1])
        # the wall's own shading: judged anew just beyond where the blade seems to end
        beyond = min(i + 4, len(colours) - 5)
    return i - 1 + float((share[i - 1] - 0.5) / (share[i - 1] - share[i]))
