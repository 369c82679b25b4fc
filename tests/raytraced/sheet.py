"""The card as a sheet of paper: its bitmap, its bends and waves, and where its places lie in the room."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

from tests.raytraced.pov import grid

Array = npt.NDArray[Any]
CARD_MM = (148.0, 105.0)  # A6
FINE = 2000


@dataclass(frozen=True)
class Sheet:
    """A sheet that bends about one direction without stretching, as paper does.

    Attributes
    ----------
    factor : float
        How large it was printed.
    bend : float
        Height of the bend or the waves, mm; 0 for a flat sheet.
    turn : float
        Direction along which it rises and falls, degrees from its long side.
    waves : float
        Half periods over the sheet: 1 is a single bow.
    phase : float
        Radians.
    """

    factor: float = 1.0
    bend: float = 0.0
    turn: float = 0.0
    waves: float = 1.0
    phase: float = 0.0

    def lift(self, flat: Array) -> Array:
        """Return where places of the nominal sheet, (n, 2) mm right and up, come to lie, (n, 3) mm."""
        true = np.asarray(flat, float) * self.factor
        if self.bend == 0:
            return np.column_stack([true, np.zeros(len(true))])
        middle = np.array([CARD_MM[0], -CARD_MM[1]]) / 2 * self.factor
        a = np.radians(self.turn)
        way, side = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
        run, off = (true - middle) @ way, (true - middle) @ side
        at, high = self._profile(run)
        return np.column_stack([middle + np.outer(at, way) + np.outer(off, side), high])

    def _profile(self, run: Array) -> tuple[Array, Array]:
        """Return where arc lengths along the bend come to lie: ahead and up, both mm."""
        reach = 0.5 * float(np.hypot(*CARD_MM)) * self.factor * 1.02
        fine = np.linspace(-reach, reach, FINE)
        angle = np.pi * self.waves * (fine + reach) / (2 * reach) + self.phase
        high = self.bend * 0.5 * (1 - np.cos(2 * angle))
        slope = np.gradient(high, fine)
        ahead = np.concatenate([[0], np.cumsum(np.sqrt(1 - np.clip(slope[1:] ** 2, 0, 0.9)) * np.diff(fine))])
        ahead -= np.interp(0.0, fine, ahead)
        return np.interp(run, fine, ahead), np.interp(run, fine, high - high.min())

    def height(self, x: float, y: float) -> float:
        """Return the sheet's height about a place of the room, mm (its sideways shift is left out)."""
        return float(self.lift(np.array([[x, y]]) / self.factor)[0, 2])

    def script(
        self, image: str, shift: tuple[float, float] = (0, 0), turn: float = 0.0, lift: float = 0.0
    ) -> str:
        """Return the sheet for POV-Ray, lying elsewhere where asked."""
        count = 2 if self.bend == 0 else 60
        x, y = np.meshgrid(np.linspace(0, CARD_MM[0], count), np.linspace(0, -CARD_MM[1], count))
        points = self.lift(np.column_stack([x.ravel(), y.ravel()])).reshape(count, count, 3)
        uv = np.stack([x / CARD_MM[0], 1 + y / CARD_MM[1]], -1)
        look = (
            f'texture {{ uv_mapping pigment {{ image_map {{ png "{image}" interpolate 2 }} }}'
            " finish { ambient 0.14 diffuse 0.78 specular 0.04 roughness 0.1 } }"
            f" rotate {turn:.3f}*z translate <{shift[0]:.3f},{shift[1]:.3f},{lift:.3f}>"
        )
        return grid(points, look, uv)


def flat() -> Sheet:
    """Return a flat sheet of true size."""
    return Sheet()


def bent(rng: np.random.Generator, low: float = 2.0, high: float = 5.0) -> Sheet:
    """Draw a bow along or across the sheet, or waves."""
    kind = rng.integers(3)
    edges = rng.choice([0, np.pi / 2])  # the middle or the edges stand up
    return Sheet(
        bend=float(rng.uniform(low, high)),
        turn=float((rng.normal(0, 12), rng.normal(90, 12), rng.uniform(0, 180))[kind]),
        waves=float((1.0, 1.0, rng.uniform(1.5, 2.5))[kind]),
        phase=float((edges, edges, rng.uniform(0, np.pi))[kind]),
    )


def scrambled(bitmap: bytes, markers: Array, dictionary: int = cv2.aruco.DICT_4X4_50) -> bytes:
    """Return a card's bitmap with markers of the same dictionary at other places.

    Parameters
    ----------
    bitmap : bytes
        PNG of a card.
    markers : (n, 3) array
        Number, left and top of each, mm.
    """
    height, width = np.asarray(Image.open(io.BytesIO(bitmap))).shape[:2]
    page = np.full((height, width, 3), 255, np.uint8)
    scale = width / CARD_MM[0]
    side = round(14 * scale)
    book = cv2.aruco.getPredefinedDictionary(dictionary)
    for number, left, top in markers:
        x, y = round(left * scale), round(top * scale)
        drawn = cv2.aruco.generateImageMarker(book, int(number), side)
        page[y : y + side, x : x + side] = drawn[..., None]
    out = io.BytesIO()
    Image.fromarray(page).save(out, "PNG")
    return out.getvalue()


def corners(markers: Array, sheet: Sheet) -> Array:
    """Return where corners on the card, (n, 2) mm right and down of its top left, lie in the room, (n, 3)."""
    places = np.asarray(markers, float).reshape(-1, 2) * [1, -1]
    return sheet.lift(places)
