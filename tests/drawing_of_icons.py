"""Draws static/icons/*.png from static/icon.svg: `python -m tests.drawing_of_icons`.

The drawing is a few straight-edged paths, so no library for SVG is needed; it is drawn eight times as large
and made small, which gives smooth edges.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

from PIL import Image, ImageDraw

from studio.tokens import colours

STATIC = Path(__file__).parent.parent / "static"
SIDE = 32.0  # of the drawing
FINER = 8
# name: pixels, how much of the side the drawing fills, the token of what lies under it. A platform cuts a
# circle of 0.8 of the side out of a maskable one (W3C, Web Application Manifest, 'Icon masks and safe zone');
# a phone of another make rounds the corners and has no icon without ground
ICONS: dict[str, tuple[int, float, str]] = {
    "192.png": (192, 1.0, ""),
    "512.png": (512, 1.0, ""),
    "maskable.png": (512, 0.88, "ink"),
    "apple.png": (180, 0.94, "ink"),
}
STEP = re.compile(r"([MmHhVvLlZz])([^MmHhVvLlZz]*)")
NUMBER = re.compile(r"-?\d*\.?\d+")


def corners(path: str) -> list[tuple[float, float]]:
    """Return the corners of a path of M, h, v, l and z; of anything else ValueError."""
    x = y = 0.0
    found = []
    for step, rest in STEP.findall(path):
        numbers = [float(one) for one in NUMBER.findall(rest)]
        if step in "Zz":
            continue
        if step == "M":
            x, y = numbers
        elif step == "h":
            x += numbers[0]
        elif step == "v":
            y += numbers[0]
        elif step == "l":
            x, y = x + numbers[0], y + numbers[1]
        else:
            raise ValueError(f"{step} is not drawn here")
        found.append((x, y))
    return found


def drawn(pixels: int, share: float, ground: str) -> Image.Image:
    """Return the icon, so many pixels wide."""
    wide = pixels * FINER
    image = Image.new("RGBA", (wide, wide), colours()[ground] if ground else (0, 0, 0, 0))
    scale, edge = wide * share / SIDE, wide * (1 - share) / 2
    pen = ImageDraw.Draw(image)
    for path in ET.parse(STATIC / "icon.svg").getroot():  # noqa: S314  # our own file
        places = [(edge + scale * x, edge + scale * y) for x, y in corners(path.attrib["d"])]
        pen.polygon(places, fill=path.attrib["fill"])
    small = image.resize((pixels, pixels), Image.Resampling.BOX)
    return small.convert("RGB") if ground else small


if __name__ == "__main__":
    (STATIC / "icons").mkdir(exist_ok=True)
    for name, (pixels, share, ground) in ICONS.items():
        drawn(pixels, share, ground).save(STATIC / "icons" / name, optimize=True)
