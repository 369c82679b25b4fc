"""A second hand that draws reeds: flat polygons in other colours, to judge what the first one tuned."""

import colorsys

import numpy as np
from PIL import Image, ImageDraw

from tests.simulator import drawing

OVER = 2


def paint(shape, rng):
    """RGBA like `drawing.paint`: same scale and margins."""
    scale = drawing.PX_PER_MM * OVER
    size = (round((shape.length + 6) * scale), round(2 * drawing.HALF_MM * scale))
    image = Image.new("RGBA", size, (0, 0, 0, 0))
    pen = ImageDraw.Draw(image)

    def part(start, stop, first, last, colour, lean=0.0):
        c = drawing.HALF_MM
        corners = [
            (start + lean, c - first),
            (stop, c - last),
            (stop, c + last),
            (start + lean, c + first),
            (start, c),
        ]
        pen.polygon([((x + 3) * scale, y * scale) for x, y in corners], fill=colour)

    def hue(h, s, v):
        rgb = colorsys.hsv_to_rgb(rng.uniform(*h) % 1, rng.uniform(*s), rng.uniform(*v))
        return (*(round(255 * c) for c in rgb), 255)

    tube, throat, tip = shape.tube_half, shape.throat_half, shape.tip_width / 2
    metal = (
        hue((0.08, 0.16), (0.05, 0.5), (0.45, 0.9))
        if rng.random() < 0.4
        else hue((0, 1), (0, 0.05), (0.35, 0.95))
    )
    part(0, shape.thread[0], tube, tube * 0.85, metal)
    part(
        *shape.cork,
        shape.cork_half,
        shape.cork_half * rng.uniform(0.85, 1),
        hue((0.05, 0.1), (0.3, 0.55), (0.45, 0.85)),
    )
    thread = hue((0, 1), (0, 0.95), (0.08, 0.95))
    length = shape.length - shape.thread[1]

    def width(s):
        return throat + (tip - throat) * (s - shape.thread[1]) / length

    part(shape.thread[1], shape.length, throat, tip, hue((0.11, 0.14), (0.45, 0.7), (0.55, 0.85)))
    cane = ((0.11, 0.14), (0.2, 0.4), (0.8, 0.95))
    part(shape.scrape, shape.length, width(shape.scrape), tip, hue(*cane), rng.uniform(0, 2.5))
    if shape.back is not None:
        part(shape.back, shape.length, width(shape.back), tip, hue((0.1, 0.13), (0.35, 0.5), (0.7, 0.85)))
    part(
        shape.tip_start,
        shape.length,
        width(shape.tip_start),
        tip,
        hue((0.11, 0.15), (0.1, 0.25), (0.88, 1)),
        -1.0,
    )
    part(shape.thread[0], shape.thread[1], tube * 0.9 + 0.1, throat + rng.uniform(0, 0.4), thread)
    small = image.resize((size[0] // OVER, size[1] // OVER), Image.BOX)
    rgba = np.asarray(small, float) / 255
    if rng.random() < 0.5:
        rows = np.linspace(-1, 1, rgba.shape[0])[:, None, None] * rng.uniform(-0.4, 0.4)
        rgba[..., :3] = np.clip(rgba[..., :3] * (1 + rows), 0, 1)
    # where no paint is, colour must not be black when mixed at the rim
    rgba[..., :3] = np.where(rgba[..., 3:] > 0, rgba[..., :3] / np.maximum(rgba[..., 3:], 1e-3), 0).clip(0, 1)
    return rgba
