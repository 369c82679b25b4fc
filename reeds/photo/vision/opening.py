"""The opening seen tip-on: figures from the outline of the gap, as found or as a person corrected it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self

from reeds.numbers.late import np
from reeds.numbers.measured import Measured
from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Floats, floats, unit
from reeds.photo.vision.refusal import PhotoRefused

COLUMNS = 201
KEPT = 65  # points of an edge that are stored
CORNERS = ("left", "right")
EDGES = ("upper", "lower")
PARTS = (*CORNERS, *EDGES)
# a view 10 degrees off the axis shortens height or width by 1.5 %: half of what holds 95 % of the views up
# to there, so that k = 2 holds as much of what is no bell curve
U_OFF_AXIS_SHARE = 0.0065
# the same views make the nearer half look larger; half of what holds 95 % as the simulator shows it
U_UNEVENNESS = 0.0132
CROSSED = gettext_noop(
    "The outline does not close around the middle of the blades: move its points so that it does."
)
BAD_WIDTH = gettext_noop("The tip's width lies between 3 and 15 mm.")


@dataclass(frozen=True)
class Outline:
    """The gap between the blades, in pixels of the upright picture, marked blade up.

    Attributes
    ----------
    left, right : (2,) arrays
        The blades' corners, as seen looking into the tip.
    upper, lower : (n, 2) arrays
        The gap's edges on the upper and on the lower blade, from left to right; they meet where the
        gap ends. Straight lines run between the points.
    u_px : float
        Standard uncertainty of the edges across, px.
    u_corner_px : float
        Standard uncertainty of each corner along, px.
    """

    left: Floats
    right: Floats
    upper: Floats
    lower: Floats
    u_px: float = 0.5
    u_corner_px: float = 1.0

    def to_json(self) -> dict[str, Any]:
        """Return it as a stored row keeps it, each edge as `KEPT` points spread evenly, px."""
        few = control_points(self, KEPT)
        places = {name: np.round(getattr(few, name), 2).tolist() for name in PARTS}
        return {**places, "u_px": round(self.u_px, 4), "u_corner_px": round(self.u_corner_px, 4)}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> Self:
        """Return what `to_json` wrote."""
        left, right, upper, lower = (floats(stored[name]) for name in PARTS)
        return cls(left, right, upper, lower, float(stored["u_px"]), float(stored["u_corner_px"]))


@dataclass(frozen=True)
class OpeningFigures:
    """What an outline says; the mm figures are None without the tip's width.

    Attributes
    ----------
    height_ratio : Measured
        Height at the middle over the blades' width, corner to corner.
    unevenness : Measured
        (left - right) / (left + right) of the half areas.
    left_height_ratio, right_height_ratio : Measured
        Mean height of each half over the blades' width.
    height_mm, width_mm, area_mm2 : Measured or None
    """

    height_ratio: Measured
    unevenness: Measured
    left_height_ratio: Measured
    right_height_ratio: Measured
    height_mm: Measured | None = None
    width_mm: Measured | None = None
    area_mm2: Measured | None = None


def figures(outline: Outline, tip_width: Measured | None = None) -> OpeningFigures:
    """Return the figures of an outline.

    Parameters
    ----------
    outline : Outline
    tip_width : Measured, optional
        The blades' true width, corner to corner, mm.

    Raises
    ------
    PhotoRefused
        If the outline has no height at the middle of the blades, or the width is not 3 to 15 mm.

    Source
    ------
    Law of propagation of uncertainty, JCGM 100:2008, 5.1.2.
    """
    if tip_width is not None and not 3 <= tip_width.value <= 15:
        raise PhotoRefused(BAD_WIDTH)
    width = float(np.linalg.norm(outline.right - outline.left))
    place, height = _heights(outline)
    near = np.abs(place - 0.5) < 0.03
    middle = float(height[near].mean()) / width
    halves = [_area(place, height, side) / width for side in (0, 1)]
    if middle <= 0 or min(halves) <= 0:
        raise PhotoRefused(CROSSED)
    u_edge = np.sqrt(2) * outline.u_px / width
    share = np.hypot(np.sqrt(2) * outline.u_corner_px / width, U_OFF_AXIS_SHARE)
    ratio = Measured(middle, float(np.hypot(u_edge, middle * share)))
    left, right = (Measured(2 * h, float(np.hypot(u_edge, 2 * h * share))) for h in halves)
    area = sum(halves)
    uneven = (halves[0] - halves[1]) / area
    u_uneven = np.hypot(u_edge / (2 * area) / 4, np.sqrt(2) * outline.u_corner_px / width)
    return OpeningFigures(
        ratio,
        Measured(float(uneven), float(np.hypot(u_uneven, U_UNEVENNESS))),
        left,
        right,
        *_in_mm(ratio, float(area), u_edge, share, tip_width),
    )


def _in_mm(
    ratio: Measured, area: float, u_edge: float, share: float, tip_width: Measured | None
) -> tuple[Measured | None, Measured | None, Measured | None]:
    if tip_width is None:
        return None, None, None
    w, u = tip_width.value, tip_width.u / tip_width.value
    height = Measured(ratio.value * w, float(w * np.hypot(ratio.u, ratio.value * u)))
    u_area = np.sqrt(u_edge**2 / 2 + (area * share) ** 2 + (2 * area * u) ** 2)
    return height, tip_width, Measured(area * w * w, float(u_area * w * w))


def _heights(outline: Outline) -> tuple[Floats, Floats]:
    """Return places along the blades, 0 to 1 from corner to corner, and the gap's height there, px."""
    along = unit(outline.right - outline.left)
    across = floats([-along[1], along[0]])
    width = float(np.linalg.norm(outline.right - outline.left))
    place = np.linspace(0, 1, COLUMNS)
    edges = []
    for edge in (outline.upper, outline.lower):
        x, y = (edge - outline.left) @ along / width, (edge - outline.left) @ across
        order = np.argsort(x)
        edges.append(np.interp(place, x[order], y[order], left=np.nan, right=np.nan))
    height = edges[1] - edges[0]
    return place, np.where(np.isnan(height), 0.0, np.maximum(height, 0.0))


def _area(place: Floats, height: Floats, side: int) -> float:
    half = place <= 0.5 if side == 0 else place >= 0.5
    return float(np.trapezoid(height[half], place[half]))


def control_points(outline: Outline, count: int = 9) -> Outline:
    """Return the outline with `count` points an edge, spread evenly, for a person to drag."""
    few = []
    for edge in (outline.upper, outline.lower):
        run = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(edge, axis=0), axis=1))])
        at = np.linspace(0, run[-1], count)
        few.append(np.column_stack([np.interp(at, run, edge[:, 0]), np.interp(at, run, edge[:, 1])]))
    return Outline(outline.left, outline.right, few[0], few[1], outline.u_px, outline.u_corner_px)
