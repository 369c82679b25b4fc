"""Puts table, card, reed, light, lens, noise and JPEG together into one photo with its truth."""

import io
from dataclasses import dataclass, field

import cv2
import numpy as np
from PIL import Image

from tests.simulator import drawing
from tests.simulator.optics import Lens, View, look_at

STEP = 8


@dataclass(frozen=True)
class Conditions:
    """What a set of photos has in common; each photo draws its own values within."""

    megapixels: tuple = (2, 12)
    tilt: tuple = (0, 25)
    distance: tuple = (150, 400)
    blur: tuple = (0.4, 1.3)
    noise: tuple = (1, 5)
    quality: tuple = (70, 95)
    pull: float = 0.005
    focal_35mm: tuple = (24, 32)
    reed: bool = True
    tip_height: tuple = (1.5, 3.5)
    foot_height: tuple = (3.0, 3.5)
    roll: tuple = (-180, 180)
    painter: object = drawing.paint
    turn: float = 1.5
    shadow: tuple = (0, 0.5)


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
        pixels = between(rng, cond.megapixels) * 1e6
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


def card_photo(rng, card_rgb, card_size, foot_xy, cond):
    """One photo of a reed on the card whose picture is `card_rgb` (float 0 to 1)."""
    shape = drawing.any_shape(rng)
    heights = (between(rng, cond.foot_height), between(rng, cond.tip_height))
    w, h = card_size
    need = np.array([[0, 0, 0], [w, 0, 0], [w, h, 0], [0, h, 0]], float)
    view, focal_35 = any_view(rng, cond, need, np.array([w / 2, h / 2]))
    frame = reed_frame(rng, foot_xy, heights, shape.length, cond.turn)
    world = {k: frame[0] + m[0] * frame[1] + m[1] * frame[2] for k, m in shape.marks().items()}
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


def plane_map(view, origin, normal):
    """World points of a plane for every pixel, from a coarse grid, (h, w, 3) float32."""
    lens = view.lens
    gw, gh = -(-lens.width // STEP) + 1, -(-lens.height // STEP) + 1
    x, y = np.meshgrid(np.arange(gw) * STEP, np.arange(gh) * STEP)
    points = view.onto_plane(np.dstack([x, y]).astype(float), origin, normal)
    # pixel (i, j) has its middle at i + 0.5: sample the coarse grid there
    u, v = np.meshgrid((np.arange(lens.width) + 0.5) / STEP, (np.arange(lens.height) + 0.5) / STEP)
    return cv2.remap(points.astype(np.float32), u.astype(np.float32), v.astype(np.float32), cv2.INTER_LINEAR)


def sample(texture, px_per_mm, x, y, scale):
    """Texture at mm places, shrunk first to about the photo's own scale (px per mm)."""
    shrink = min(1.0, 1.6 * scale / px_per_mm)
    small = cv2.resize(texture.astype(np.float32), None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    fx, fy = small.shape[1] / texture.shape[1] * px_per_mm, small.shape[0] / texture.shape[0] * px_per_mm
    return cv2.remap(
        small,
        (x * fx - 0.5).astype(np.float32),
        (y * fy - 0.5).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
    )


def render(rng, view, card_rgb, card_size, shape, frame, cond):
    """The photo's pixels, uint8, before JPEG."""
    up = np.array([0, 0, 1.0])
    ground = plane_map(view, np.zeros(3), up)
    x, y = ground[..., 0], ground[..., 1]
    middle = view.see(np.array([[70, 50, 0], [80, 50, 0]]))
    scale = float(np.linalg.norm(middle[1] - middle[0]) / 10)
    picture = table(rng, x, y)
    if card_rgb is not None:
        ppmm = card_rgb.shape[1] / card_size[0]
        solid = np.dstack([card_rgb, np.ones(card_rgb.shape[:2])])
        card = sample(solid, ppmm, x, y, scale)
        picture = picture * (1 - card[..., 3:]) + card[..., :3]
    if shape is not None:
        picture = lay_reed(rng, picture, view, (x, y), shape, frame, scale, cond)
    return develop(rng, picture, view.lens, cond)


def lay_reed(rng, picture, view, ground_xy, shape, frame, scale, cond):
    foot, along, across = frame
    texture = cond.painter(shape, rng)
    texture[..., :3] *= texture[..., 3:]
    axis = plane_map(view, foot, np.cross(along, across))
    rest = axis - foot.astype(np.float32)
    s, v = rest @ along.astype(np.float32), rest @ across.astype(np.float32)
    reed = sample(texture, drawing.PX_PER_MM, s + 3, v + drawing.HALF_MM, scale)
    # a soft shadow: the silhouette, shifted away from the light, on the ground
    shift = rng.normal(0, 2.5, 2)
    gx, gy = ground_xy[0] - foot[0] - shift[0], ground_xy[1] - foot[1] - shift[1]
    gs, gv = gx * along[0] + gy * along[1], gx * across[0] + gy * across[1]
    soft = cv2.GaussianBlur(texture[..., 3], (0, 0), rng.uniform(0.3, 1.5) * drawing.PX_PER_MM)
    dark = sample(soft, drawing.PX_PER_MM, gs + 3, gv + drawing.HALF_MM, scale) * between(rng, cond.shadow)
    picture = picture * (1 - dark[..., None])
    return picture * (1 - reed[..., 3:]) + reed[..., :3]


def table(rng, x, y):
    """A table top: plain, grained or cluttered, light or dark, (h, w, 3)."""
    base = rng.uniform(0.05, 0.95) * np.clip(rng.normal(1, 0.12, 3), 0.6, 1.3)
    a = rng.uniform(0, np.pi)
    wave = np.sin((x * np.cos(a) + y * np.sin(a)) / rng.uniform(1, 6) + 2 * np.sin(y / 37))
    picture = np.clip(base[None, None] * (1 + rng.uniform(0, 0.15) * wave[..., None]), 0, 1).astype(
        np.float32
    )
    for _ in range(rng.integers(0, 8)):
        cx, cy = rng.uniform(-60, 210), rng.uniform(-60, 170)
        inside = (np.abs(x - cx) < rng.uniform(3, 40)) & (np.abs(y - cy) < rng.uniform(3, 40))
        picture[inside] = rng.uniform(0, 1, 3)
    return picture


def develop(rng, picture, lens, cond):
    """Light, blur, noise and eight bits."""
    u, v = np.linspace(-1, 1, lens.width)[None, :], np.linspace(-1, 1, lens.height)[:, None]
    light = rng.uniform(0.65, 1.0) * (1 + rng.uniform(-0.25, 0.25) * u + rng.uniform(-0.25, 0.25) * v)
    light = light * (1 - rng.uniform(0, 0.2) * (u**2 + v**2))
    white = np.clip(rng.normal(1, 0.05, 3), 0.85, 1.15)
    picture = picture * light[..., None].astype(np.float32) * white.astype(np.float32)
    picture = cv2.GaussianBlur(picture, (0, 0), between(rng, cond.blur))
    noise = np.empty(picture.shape, np.float32)
    cv2.setRNGSeed(int(rng.integers(2**31)))
    cv2.randn(noise, 0, between(rng, cond.noise) / 255)
    return np.round(np.clip(picture + noise, 0, 1) * 255).astype(np.uint8)


def through_jpeg(rgb, quality):
    out = io.BytesIO()
    Image.fromarray(rgb).save(out, "JPEG", quality=quality)
    return np.asarray(Image.open(io.BytesIO(out.getvalue())))
