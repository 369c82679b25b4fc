"""Where everything stands on the printed card, in millimetres, and what of it one photo shows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self

from reeds.numbers.late import np
from reeds.photo.vision.arrays import Floats, floats

WIDTH_MM = 148.0
HEIGHT_MM = 105.0
MARKER_MM = 16.0
DICTIONARY = "DICT_4X4_50"
AXIS_Y_MM = 52.5
FOOT_X_MM = 36.0
LONGEST_REED_MM = 75.0
# the tinted field on which the reed lies: left, top, right, bottom
FIELD_MM = (27.0, 38.0, 121.0, 67.0)
BAR_MM = ((24.0, 75.0), (124.0, 75.0))
MARKER_PLACES_MM: dict[int, tuple[float, float]] = {
    0: (6, 5), 1: (46, 5), 2: (86, 5), 3: (126, 5),
    4: (6, 44.5), 5: (126, 44.5),
    6: (6, 84), 7: (46, 84), 8: (86, 84), 9: (126, 84),
}  # fmt: skip
ABOVE = frozenset({0, 1, 2, 3})
BELOW = frozenset({6, 7, 8, 9})


@dataclass(frozen=True)
class MarkersFound:
    """The card's markers in one photo.

    Attributes
    ----------
    ids : tuple of int
        Marker numbers, ascending, n of them.
    pixels : (n, 4, 2) array
        Corners in the upright picture, px, origin at the outer corner of its top left pixel; in the
        order top left, top right, bottom right, bottom left of the card.
    """

    ids: tuple[int, ...]
    pixels: Floats

    @property
    def card_mm(self) -> Floats:
        """The same corners on the card, (n, 4, 2), mm, origin at the card's top left."""
        return np.stack([marker_corners_mm(i) for i in self.ids])

    def to_json(self) -> dict[str, Any]:
        """Return them as a stored row keeps them, rounded to a thousandth of a pixel."""
        return {"ids": list(self.ids), "pixels": np.round(self.pixels, 3).tolist()}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> Self:
        """Return what `to_json` wrote."""
        return cls(tuple(stored["ids"]), floats(stored["pixels"]))


def marker_corners_mm(marker: int) -> Floats:
    """Return the corners of one marker on the card, (4, 2), mm, clockwise from the top left."""
    x, y = MARKER_PLACES_MM[marker]
    return floats([[x, y], [x + MARKER_MM, y], [x + MARKER_MM, y + MARKER_MM], [x, y + MARKER_MM]])
