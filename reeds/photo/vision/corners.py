"""The blades' corners in a strip: where, walking on from the gap's ends, the cane ends sharply."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reeds.numbers.words import gettext_noop
from reeds.photo.vision.almond import LEAST_CONTRAST_GREY
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.edges import Edges, Strip
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.sampling import resample

# own choices, tried on tests/simulator and on tests/raytraced, half `fix`; no source
ROWS, SPREAD = 31, 0.05  # walks from each end, this far up and down, share of the gap's length
SHARP = 0.6  # of the step from cane to what is behind, within twice an edge's width
# shares of the gap's length: it ends so far from the corner at most, and as far from the one as from the
# other, since both blades are one piece of cane folded
FARTHEST, UNLIKE = 0.17, 0.03
U_MIRRORED = 0.02  # of the gap's length: a corner that is put where the other says
NO_ROOM = gettext_noop(
    "The opening runs on to the edge of what is seen: leave room on both sides of the tip."
)
NO_CORNER = gettext_noop(
    "The corners of the blades do not stand out from what is behind: hold the tip before a plain wall of "
    "another colour, away from the fingers."
)


@dataclass(frozen=True)
class Corner:
    """A corner of the blades, strip px: its place and its doubt along."""

    x: float
    y: float
    u: float


def find_corners(strip: Strip, edges: Edges) -> tuple[Corner, Corner]:
    """Return the left and the right corner.

    Where one does not stand out from what is behind it is put where the other says, with a doubt.

    Raises
    ------
    PhotoRefused
        If neither is seen, if both are seen and one is much farther out, or there is no room for one.
    """
    long = float(edges.columns[-1] - edges.columns[0])
    both = [_corner(strip, edges, side) for side in (-1, 1)]
    off = [_off(corner, edges, side) for corner, side in zip(both, (-1, 1), strict=True) if corner]
    if not off or max(off) > FARTHEST * long or max(off) - min(off) > UNLIKE * long:
        raise PhotoRefused(NO_CORNER)
    left, right = (
        corner or _mirrored(edges, side, off[0], long) for corner, side in zip(both, (-1, 1), strict=True)
    )
    return left, right


def _off(corner: Corner, edges: Edges, side: int) -> float:
    return abs(corner.x - float(edges.columns[0 if side < 0 else -1]))


def _mirrored(edges: Edges, side: int, off: float, long: float) -> Corner:
    walked = edges.from_side(side)
    row = float(walked.upper[0] + walked.lower[0]) / 2
    return Corner(float(walked.columns[0]) + side * off, row, U_MIRRORED * long)


def _corner(strip: Strip, edges: Edges, side: int) -> Corner | None:
    """Return the farthest place on one side that still looks like cane, or None if nothing there is sharp."""
    walked = edges.from_side(side)
    end, row = float(walked.columns[0]), float(walked.upper[0] + walked.lower[0]) / 2
    out = np.arange(0.0, (end if side < 0 else strip.light.shape[1] - end) - 1)
    if not len(out):  # nothing of the blades is seen beyond the gap: where they end cannot be
        raise PhotoRefused(NO_ROOM)
    best = None
    spread = SPREAD * len(walked.columns)
    cane = _cane_near(strip, walked)
    for off in np.linspace(-spread, spread, ROWS):
        x, y = end + side * out - 0.5, np.full(len(out), row + off - 0.5)
        far = _leave(resample(strip.rgb, x[None], y[None]).reshape(-1, 3), cane, walked.width)
        if far is not None and (best is None or far > abs(best.x - end)):
            best = Corner(end + side * far, row + off, max(1.0, 0.2 * walked.width))
    return best


def _cane_near(strip: Strip, walked: Edges) -> Floats:
    """Return the blades' colour, (3,), just outside the gap not far from one of its ends."""
    some = slice(len(walked.columns) // 20, len(walked.columns) // 5)
    away = max(2.0, 0.8 * walked.width)
    rows = np.concatenate([walked.upper[some] - away, walked.lower[some] + away])
    x = np.tile(walked.columns[some], 2)
    return floats(np.median(resample(strip.rgb, x[None] - 0.5, rows[None] - 0.5).reshape(-1, 3), axis=0))


def _leave(colours: Floats, cane: Floats, width: float) -> float | None:
    """Return where a walk outwards leaves the cane for the background, px.

    None if it never was on it or leaves it slowly: what is behind is out of focus, the tip is not.
    """
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
    reach = round(max(2.0, width))
    if share[max(0, i - reach)] - share[min(len(share) - 1, i + reach)] < SHARP:
        return None
    return i - 1 + float((share[i - 1] - 0.5) / (share[i - 1] - share[i]))
