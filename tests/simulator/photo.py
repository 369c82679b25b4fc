"""Puts table, card, reed, light, lens, noise and JPEG together into one photo with its truth."""

import io
from dataclasses import dataclass, field

import cv2
import numpy as np
from PIL import Image

from tests.simulator import drawing
from tests.simulator.optics import Lens, View, look_at

STEP = 8
BAND = 256  # rows at a time; whole steps


@dataclass(frozen=True)
class Conditions:
    """What a set of photos has in common; each photo draws its own values within."""

    megapixels: tuple = (2, 12)
    large: float = 0.0  # share of photos of 8 to 12 megapixels instead
    tilt: tuple = (0, 25)
    distance: tuple = (150, 400)
    blur: tuple = (0.4, 1.3)
    noise: tuple = (1, 5)
    quality: tuple = (70, 95)
    pull: float = 0.005
    focal_35mm: tuple = (23.5, 30)
    reed: bool = True
    tip_height: tuple = (1.5, 3.5)
    foot_height: tuple = (3.0, 3.5)
    roll: tuple = (-180, 180)
    painter: object = drawing.paint
    turn: float = 1.5
    shadow: tuple = (0, 0.5)
    # what is painted is a phone's code; lens and pixels mix this power of it: 2 is nearly light
    curve: float = 1


@dataclass(frozen=True)
class Photo:
    """A photo with its truth: pixels and lengths as they are."""

    rgb: np.ndarray
    view: View
    marks: dict
    lengths: dict
    heights: tuple
    focal_35mm: float
    shape: drawing.ReedShape
    quality: int = 90
    extra: dict = field(default_factory=dict)

    def jpeg(self, focal=True):
        """The file as a phone would send it; focal length in Exif where asked."""
        image = Image.fromarray(self.rgb)
        exif = image.getexif()
        if focal:
            exif.get_ifd(0x8769)[0xA405] = round(self.focal_35mm)
        out = io.BytesIO()
        image.save(out, "JPEG", quality=self.quality, exif=exif)
        return out.getvalue()


def between(rng, pair):
    return float(rng.uniform(*pair))


def any_view(rng, cond, need, target):
    """A view in which all of `need` ((n, 3) mm) lies inside the picture, with its focal length."""
    for _ in range(4000):
        pixels = between(rng, (8, 12.2) if rng.random() < cond.large else cond.megapixels) * 1e6
        shape = [4 / 3, 4 / 3, 3 / 2, 16 / 9][rng.integers(4)]
        width, height = round(np.sqrt(pixels * shape)), round(np.sqrt(pixels / shape))
        if rng.random() < 0.3:
            width, height = height, width
        focal_35 = between(rng, cond.focal_35mm)
        by_width = rng.random() < 0.5
        focal = focal_35 * (max(width, height) / 36 if by_width else np.hypot(width, height) / 43.267)
        lens = Lens(focal, width, height, rng.uniform(-1, 1) * cond.pull)
        spot = np.array([*(target[:2] + rng.normal(0, 8, 2)), 0])
        view = look_at(
            lens,
            spot,
            between(rng, cond.distance),
            between(rng, cond.tilt),
            rng.uniform(0, 360),
            between(rng, cond.roll),
        )
        seen = view.see(need)
        if (seen > 4).all() and (seen[:, 0] < width - 4).all() and (seen[:, 1] < height - 4).all():
            return view, focal_35
    raise RuntimeError("no view in 4000 tries")


def reed_frame(rng, foot_xy, heights, length, turn=1.5):
    """Axis of a reed: foot, unit along (sloping), unit across; world mm, z up."""
    a = np.radians(rng.normal(0, turn))
    drop = (heights[1] - heights[0]) / length
    flat = np.sqrt(1 - drop**2)
    along = np.array([flat * np.cos(a), flat * np.sin(a), drop])
    across = np.array([-np.sin(a), np.cos(a), 0])
    foot = np.array([foot_xy[0] + rng.normal(0, 0.7), foot_xy[1] + rng.normal(0, 0.7), heights[0]])
    return foot, along, across


def on_surface(eye, frame, marks, over):
    """Where each landmark is seen, world mm: on the reed's surface, half-way across it for an eye there.

    `marks` has (along, across) by name, mm, `over` the height over the axis.

    Of foot and tip it is the outermost edge: the near side's, or the far side's for an eye beyond the end.
    """
    foot, along, across = frame
    reach = (eye - foot) @ along
    towards = eye - foot - reach * along
    towards /= np.linalg.norm(towards)
    side = {"staple_foot": np.sign(reach), "tip": np.sign(marks["tip"][0] - reach)}
    return {
        k: foot + m[0] * along + m[1] * across + side.get(k, 1) * over.get(k, 0) * towards
        for k, m in marks.items()
    }


def card_photo(rng, card_rgb, card_size, foot_xy, cond):
    """One photo of a reed on the card whose picture is `card_rgb` (float 0 to 1)."""
    shape = drawing.any_shape(rng)
    heights = (between(rng, cond.foot_height), between(rng, cond.tip_height))
    w, h = card_size
    need = np.array([[0, 0, 0], [w, 0, 0], [w, h, 0], [0, h, 0]], float)
    view, focal_35 = any_view(rng, cond, need, np.array([w / 2, h / 2]))
    frame = reed_frame(rng, foot_xy, heights, shape.length, cond.turn)
    world = on_surface(view.place, frame, shape.marks(), shape.over())
    seen = dict(zip(world, view.see(np.array(list(world.values()))), strict=True))
    _name_sides(seen)
    rgb = render(rng, view, card_rgb, card_size, shape if cond.reed else None, frame, cond)
    quality = int(rng.integers(cond.quality[0], cond.quality[1] + 1))
    return Photo(
        through_jpeg(rgb, quality), view, seen, true_lengths(shape), heights, focal_35, shape, quality
    )


def _name_sides(seen):
    """Left hand as one looks from foot to tip from the camera's side."""
    ahead = seen["tip"] - seen["staple_foot"]
    side = seen["tip_left"] - seen["tip"]
    # picture's y runs down: a point is to the left when the cross product is negative
    if ahead[0] * side[1] - ahead[1] * side[0] > 0:
        seen["tip_left"], seen["tip_right"] = seen["tip_right"], seen["tip_left"]


def true_lengths(shape):
    length = shape.length
    found = {
        "tie_length": length,
        "overall_length": length,
        "scrape_length": length - shape.scrape,
        "tip_length": length - shape.tip_start,
        "bark_length": shape.scrape - shape.thread[1],
        "cane_beyond_thread": length - shape.thread[1],
        "foot_to_thread_end": shape.thread[1],
        "tip_width": shape.tip_width,
    }
    if shape.back is not None:
        found |= {"heart_length": shape.tip_start - shape.back, "back_length": shape.back - shape.scrape}
    return found


def plane_map(view, origin, normal, box=None):
    """World points of a plane for every pixel of a box (x0, y0, x1, y1), from a coarse grid, float32."""
    x0, y0, x1, y1 = box or (0, 0, view.lens.width, view.lens.height)
    gw, gh = -(-(x1 - x0) // STEP) + 1, -(-(y1 - y0) // STEP) + 1
    x, y = np.meshgrid(np.arange(gw) * STEP + x0, np.arange(gh) * STEP + y0)
    points = view.onto_plane(np.dstack([x, y]).astype(float), origin, normal)
    # pixel (i, j) has its middle at i + 0.5: sample the coarse grid there
    u = (np.arange(x1 - x0, dtype=np.float32) + 0.5) / STEP
    v = (np.arange(y1 - y0, dtype=np.float32) + 0.5) / STEP
    return cv2.remap(points.astype(np.float32), *np.meshgrid(u, v), cv2.INTER_LINEAR)


def shrink(texture, px_per_mm, scale):
    """A texture shrunk to about the photo's own scale (px per mm), with its px per mm along x and y."""
    share = min(1.0, 1.6 * scale / px_per_mm)
    small = cv2.resize(texture.astype(np.float32), None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    return (
        small,
        small.shape[1] / texture.shape[1] * px_per_mm,
        small.shape[0] / texture.shape[0] * px_per_mm,
    )


def sample(shrunk, x, y):
    """A shrunk texture at mm places; nothing beyond its rim."""
    small, fx, fy = shrunk
    at = (x * fx - 0.5).astype(np.float32), (y * fy - 0.5).astype(np.float32)
    return cv2.remap(small, *at, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)


def render(rng, view, card_rgb, card_size, shape, frame, cond):
    """The photo's pixels, uint8, before JPEG: all is laid and blurred as light, and coded last (`curve`)."""
    middle = view.see(np.array([[70, 50, 0], [80, 50, 0]]))
    scale = float(np.linalg.norm(middle[1] - middle[0]) / 10)
    top = any_table(rng)
    card = None
    if card_rgb is not None:
        solid = np.dstack([card_rgb**cond.curve, np.ones(card_rgb.shape[:2])])
        card = shrink(solid, card_rgb.shape[1] / card_size[0], scale)
    picture = np.empty((view.lens.height, view.lens.width, 3), np.float32)
    for start in range(0, view.lens.height, BAND):  # in bands: a 12-megapixel photo stays small in memory
        stop = min(start + BAND, view.lens.height)
        picture[start:stop] = lay_card(view, top, card, (0, start, view.lens.width, stop), cond.curve)
    if shape is not None:
        lay_reed(rng, picture, view, shape, frame, scale, cond)
    return develop(rng, picture, view.lens, cond)


def lay_card(view, top, card, box, curve=1):
    """One band of the table with the card upon it."""
    ground = plane_map(view, np.zeros(3), np.array([0, 0, 1.0]), box)
    x, y = ground[..., 0], ground[..., 1]
    picture = top(x, y) ** curve
    if card is None:
        return picture
    seen = sample(card, x, y)
    return picture * (1 - seen[..., 3:]) + seen[..., :3]


def box_around(view, points, margin):
    """The pixels' box around world points, in whole steps, within the picture."""
    seen, size = view.see(points), np.array([view.lens.width, view.lens.height])
    low = np.clip(np.floor((seen.min(0) - margin) / STEP) * STEP, 0, size).astype(int)
    high = np.clip(np.ceil(seen.max(0) + margin), 0, size).astype(int)
    return (*low.tolist(), *high.tolist())


def lay_reed(rng, picture, view, shape, frame, scale, cond):
    """Lays a reed and its shadow into the picture."""
    foot, along, across = frame
    texture = cond.painter(shape, rng)
    texture[..., :3] = texture[..., :3] ** cond.curve * texture[..., 3:]
    # a soft shadow: the silhouette, shifted away from the light, on the ground
    shift = rng.normal(0, 2.5, 2)
    soft = cv2.GaussianBlur(texture[..., 3], (0, 0), rng.uniform(0.3, 1.5) * drawing.PX_PER_MM)
    depth = between(rng, cond.shadow)
    corners = np.array(
        [foot + s * along + v * across for s in (-3, shape.length + 3) for v in (-1, 1) * np.array([7.0])]
    )
    x0, y0, x1, y1 = box = box_around(view, corners, (6 + np.abs(shift).max()) * scale)
    s, v = surface_map(view, shape, frame, box)
    reed = sample(shrink(texture, drawing.PX_PER_MM, scale), s + 3, v + drawing.HALF_MM)
    ground = plane_map(view, np.zeros(3), np.array([0, 0, 1.0]), box)
    gx, gy = ground[..., 0] - foot[0] - shift[0], ground[..., 1] - foot[1] - shift[1]
    gs, gv = gx * along[0] + gy * along[1], gx * across[0] + gy * across[1]
    dark = sample(shrink(soft, drawing.PX_PER_MM, scale), gs + 3, gv + drawing.HALF_MM) * depth
    under = picture[y0:y1, x0:x1] * (1 - dark[..., None]) ** cond.curve
    picture[y0:y1, x0:x1] = under * (1 - reed[..., 3:]) + reed[..., :3]


def surface_map(view, shape, frame, box):
    """Place along and across, mm, of the reed's round surface for every pixel of a box."""
    foot, along, across = frame
    up = np.cross(along, across)

    def at(height):
        rest = plane_map(view, foot + height * up, up, box) - (foot + height * up).astype(np.float32)
        return rest @ along.astype(np.float32), rest @ across.astype(np.float32)

    (s0, v0), (s1, v1) = at(0.0), at(1.0)
    ds, dv = s1 - s0, v1 - v0  # along a ray both grow evenly with height
    places = np.arange(-3, shape.length + 3, 0.05)
    crest, half = shape.crest(places), drawing.half_width(shape, np.clip(places, 0, shape.length))

    def height(s, v):
        flat = 1 - (v / np.interp(s, places, half)) ** 2
        return np.interp(s, places, crest) * np.sqrt(np.clip(flat, 0, 1))

    high = np.zeros_like(s0)
    for _ in range(6):
        high = height(s0 + high * ds, v0 + high * dv)
    s, v = s0 + high * ds, v0 + high * dv
    reach = (view.place - foot) @ along
    for end, inner, beyond in (
        (0, 0.05, reach < 0),
        (shape.length, shape.length - 0.05, reach > shape.length),
    ):
        if beyond:  # the end's own face, as far as its far side
            where = (end - s0) / np.where(np.abs(ds) < 1e-6, 1e-6, ds)
            v_end = v0 + where * dv
            face = (np.abs(where) <= height(np.full_like(v_end, inner), v_end)) & (np.abs(s - end) < 3)
            face &= (s < 0) | (s > shape.length)
            s, v = np.where(face, inner, s), np.where(face, v_end, v)
    return s, v


def any_table(rng):
    """A table top: plain, grained or cluttered, light or dark; a function of x and y, mm."""
    base = rng.uniform(0.05, 0.95) * np.clip(rng.normal(1, 0.12, 3), 0.6, 1.3).astype(np.float32)
    a = rng.uniform(0, np.pi)
    pitch, strength = rng.uniform(1, 6), np.float32(rng.uniform(0, 0.15))
    spots = [
        (*rng.uniform((-60, -60), (210, 170)), *rng.uniform(3, 40, 2), rng.uniform(0, 1, 3))
        for _ in range(rng.integers(0, 8))
    ]

    def top(x, y):
        way = np.float32(np.cos(a) / pitch), np.float32(np.sin(a) / pitch)
        wave = np.sin(x * way[0] + y * way[1] + 2 * np.sin(y / np.float32(37)))
        picture = np.clip(base * (1 + strength * wave[..., None]), 0, 1).astype(np.float32)
        for cx, cy, w, h, colour in spots:
            picture[(np.abs(x - cx) < w) & (np.abs(y - cy) < h)] = colour
        return picture

    return top


def develop(rng, picture, lens, cond):
    """Light, blur, noise and eight bits; works in the picture's own memory."""
    u, v = np.linspace(-1, 1, lens.width)[None, :], np.linspace(-1, 1, lens.height)[:, None]
    light = rng.uniform(0.65, 1.0) * (1 + rng.uniform(-0.25, 0.25) * u + rng.uniform(-0.25, 0.25) * v)
    light = light * (1 - rng.uniform(0, 0.2) * (u**2 + v**2))
    white = np.clip(rng.normal(1, 0.05, 3), 0.85, 1.15)
    picture *= light[..., None].astype(np.float32) ** cond.curve
    picture *= white.astype(np.float32) ** cond.curve
    cv2.GaussianBlur(picture, (0, 0), between(rng, cond.blur), dst=picture)
    cv2.setRNGSeed(int(rng.integers(2**31)))
    level = between(rng, cond.noise)
    out = np.empty(picture.shape, np.uint8)
    for start in range(0, lens.height, BAND):
        part = picture[start : start + BAND]
        noise = cv2.randn(np.empty(part.shape, np.float32), 0, level / 255)
        code = np.maximum(part, 0) ** (1 / cond.curve) + noise
        out[start : start + BAND] = np.round(np.clip(code, 0, 1) * 255)
    return out


def through_jpeg(rgb, quality):
    out = io.BytesIO()
    Image.fromarray(rgb).save(out, "JPEG", quality=quality)
    return np.asarray(Image.open(io.BytesIO(out.getvalue())))
