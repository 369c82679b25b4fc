"""A plane along a reed, by which what is drawn on its photo has millimetres, and the shape it is kept in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self

from reeds.photo.vision.arrays import Floats, floats

DECIMALS = 9


@dataclass(frozen=True)
class ReedPlane:
    """A plane along the reed's visible surface.

    Attributes
    ----------
    matrix : (3, 3) array
        Pixels of the upright picture to mm along and across the axis from the foot.
    share : float
        Standard uncertainty of a length along the reed, as a share of it.
    off_reed : float
        The further share where an end does not lie on the reed: anywhere between card and axis.
    uneven_mm : float
        The further standard uncertainty of any length, mm: the surface is no plane, and is seen askew.
    reach : (from, to)
        How far the reed goes along the axis, mm.
    window : (left, top, right, bottom)
        The part of the plane where the reed is, mm.
    clicked : bool
        Whether a person set the points it rests on; else it is the card's place for a reed.
    """

    matrix: Floats
    share: float
    off_reed: float
    uneven_mm: float
    reach: tuple[float, float]
    window: tuple[float, float, float, float]
    clicked: bool = True

    def to_json(self) -> dict[str, Any]:
        """Return it as a stored row keeps it."""
        rows = [[float(f"{number:.{DECIMALS}g}") for number in row] for row in self.matrix]
        return {**vars(self), "matrix": rows, "reach": list(self.reach), "window": list(self.window)}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> Self:
        """Return what `to_json` wrote."""
        left, top, right, bottom = stored["window"]
        start, stop = stored["reach"]
        return cls(
            floats(stored["matrix"]),
            stored["share"],
            stored["off_reed"],
            stored["uneven_mm"],
            (start, stop),
            (left, top, right, bottom),
            stored["clicked"],
        )
