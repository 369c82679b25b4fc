"""What may lie beside the reed instead of the card: a steel ruler, or a card of ID-1 size."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFont

from tests.raytraced.lens import vector
from tests.raytraced.pov import grid
from tests.raytraced.reed import colour, finish

Array = npt.NDArray[Any]
ID1_MM = (85.60, 53.98, 0.76)
ID1_ROUND_MM = 3.18
RULER_MM = (110.0, 25.0)
PX_PER_MM = 16


@dataclass(frozen=True)
class Lying:
    """Something flat: where its own corner lies (mm), how it is turned (degrees), how thick it is."""

    corner: Array
    turn: float
    thick: float

    def place(self, flat: Array) -> Array:
        """Return where places of its upper face, (n, 2) mm, lie in the room, (n, 3)."""
        a = np.radians(self.turn)
        turned = np.asarray(flat, float) @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
        return np.column_stack([turned + self.corner, np.full(len(turned), self.thick)])

    def _put(self) -> str:
        return f"rotate {self.turn:.4f}*z translate {vector([*self.corner, 0])}"


@dataclass(frozen=True)
class Ruler(Lying):
    """A ruler whose scale begins 5 mm from its end; it lies on the table, the scale's edge at y = 0."""

    def marks(self, start: float, stop: float) -> Array:
        """Return where two of its strokes begin, on the upper edge, (2, 3)."""
        return self.place(np.array([[5 + start, 0.0], [5 + stop, 0.0]]))

    def script(self) -> str:
        """Return it for POV-Ray; its scale is the picture `ruler.png`."""
        length, wide = RULER_MM
        x, y = np.meshgrid([0, length], [0, -wide])
        face = np.stack([x, y, np.full_like(x, self.thick)], -1).astype(float)
        uv = np.stack([x / length, 1 + y / wide], -1)
        image = 'uv_mapping pigment { image_map { png "ruler.png" interpolate 2 } }'
        look = f"texture {{ {image} {finish(0.4, 0.02, 0.12)} }}"
        far = f"<{length},0,{self.thick - 0.002:.4f}>"
        low = f"box {{ <0,{-wide},-0.12>, {far} pigment {{ rgb 0.45 }} {finish(0.3)} }}"
        return f"union {{ {grid(face, look, uv)} {low} {self._put()} }}\n"


@dataclass(frozen=True)
class Id1(Lying):
    """A bank card's size, from its lower left corner."""

    def corners(self) -> Array:
        """Return where the straight edges of its upper face meet, (4, 3)."""
        w, h, _ = ID1_MM
        return self.place(np.array([[0, 0], [w, 0], [w, h], [0, h]]))

    def script(self, rgb: Any) -> str:
        """Return it for POV-Ray."""
        w, h, _ = ID1_MM
        r, top = ID1_ROUND_MM, self.thick
        boxes = [((r, 0), (w - r, h)), ((0, r), (w, h - r))]
        parts = [f"box {{ <{a[0]},{a[1]},-0.1>, <{b[0]},{b[1]},{top}> }}" for a, b in boxes]
        parts += [
            f"cylinder {{ <{x},{y},-0.1>, <{x},{y},{top}>, {r} }}" for x in (r, w - r) for y in (r, h - r)
        ]
        shades = f"[0 {colour(rgb)}] [1 {colour(rgb, 0.6)}]"
        look = (
            f"texture {{ pigment {{ gradient x scale {w} color_map {{ {shades} }} }}"
            f" {finish(0.5, 0.01, 0.06)} }}"
        )
        return f"union {{ {' '.join(parts)} {look} {self._put()} }}\n"


def ruler_bitmap() -> bytes:
    """Return the ruler's face: strokes every millimetre, numbers every ten, brushed steel."""
    width, height = (round(v * PX_PER_MM) for v in RULER_MM)
    rng = np.random.default_rng(5)
    steel = 0.55 + 0.03 * rng.standard_normal((height, 1)) + 0.01 * rng.standard_normal((height, width))
    image = Image.fromarray(np.round(255 * np.clip(steel, 0, 1)).astype(np.uint8), "L")
    pen = ImageDraw.Draw(image)
    font = ImageFont.load_default(2.6 * PX_PER_MM)
    for mm in range(101):
        x = (5 + mm) * PX_PER_MM
        reach = 8.0 if mm % 10 == 0 else 6.0 if mm % 5 == 0 else 4.0
        pen.rectangle((x - 2, 0, x + 1, reach * PX_PER_MM), fill=20)
        if mm % 10 == 0:
            pen.text((x, 9 * PX_PER_MM), str(mm // 10), fill=20, font=font, anchor="mt")
    out = io.BytesIO()
    image.convert("RGB").save(out, "PNG")
    return out.getvalue()
