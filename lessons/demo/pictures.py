"""Draws the demo's photos: a reed lying on the printed card, and an opening seen tip-on. Deterministic."""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from reeds.photo import printing as cards
from reeds.photo.vision import card

Pixels = NDArray[np.uint8]
Floats = NDArray[np.float64]

SIZE = (1600, 1200)
FOCAL_35MM = 26.0
PER_MM = 24
MARGIN_MM = 4.0
# how high above the card one sees the surface of foot and tip: the axis there and half the thickness
FOOT_MM, TIP_MM = 3.6 + 2.7, 2.25 + 0.5
CANE, BARK, SCRAPED, METAL, CORK = (
    (214, 184, 112),
    (196, 150, 62),
    (236, 220, 176),
    (168, 160, 142),
    (176, 132, 84),
)
THREADS = ((30, 92, 96), (140, 44, 40), (48, 66, 122), (96, 46, 104), (52, 92, 48))


@dataclass(frozen=True)
class Look:
    """What a reed looks like, mm from the foot of its staple; scrape 0 for a blank."""

    staple: float
    thread_end: float
    length: float
    scrape: float
    tip: float
    tip_width: float = 7.0
    thread: int = 0


def lying(look: Look, seed: int) -> bytes:
    """Return a JPEG of a reed on the card, camera a little tilted, as a phone would take it."""
    rng = np.random.default_rng(seed)
    camera, rotation, shift = _pose(rng)
    scene = _table(rng)
    printed = _card()
    per_mm = printed.shape[1] / card.WIDTH_MM
    flat = _homography(camera, rotation, shift, 0.0) @ np.diag([1 / per_mm, 1 / per_mm, 1.0])
    scene = _lay(scene, printed, np.full(printed.shape[:2], 255, np.uint8), flat)
    picture, mask = _reed(look)
    onto = np.array(
        [[1 / PER_MM, 0, card.FOOT_X_MM - MARGIN_MM], [0, 1 / PER_MM, card.AXIS_Y_MM - 7.0], [0, 0, 1]]
    )
    shade = cv2.GaussianBlur(mask, (0, 0), PER_MM * 0.7)
    below = np.array([[1, 0, 1.2], [0, 1, 1.6], [0, 0, 1.0]]) @ onto
    dark = np.zeros_like(picture)
    scene = _lay(
        scene, dark, (shade * 0.4).astype(np.uint8), _homography(camera, rotation, shift, 0.0) @ below
    )
    scene = _lay(scene, picture, mask, _along_reed(look, camera, rotation, shift) @ onto)
    return _taken(scene, rng, blur=0.7)


def landmarks(look: Look, seed: int) -> dict[str, tuple[float, float]]:
    """Return where the places of the reed are seen in `lying(look, seed)`, px; set as by a careful hand."""
    half = look.tip_width / 2
    places = {"staple_foot": (0.0, 0.0), "thread_end": (look.thread_end, 0.0)}
    if look.scrape:
        places |= {
            "scrape_start": (look.length - look.scrape, 0.0),
            "tip_start": (look.length - look.tip, 0.0),
        }
    places |= {"tip": (look.length, 0.0), "tip_left": (look.length, -half), "tip_right": (look.length, half)}
    onto = _along_reed(look, *_pose(np.random.default_rng(seed)))
    on_card = np.array([[[card.FOOT_X_MM + x, card.AXIS_Y_MM + y] for x, y in places.values()]])
    seen = cv2.perspectiveTransform(on_card, onto)[0]
    return {name: (float(x), float(y)) for name, (x, y) in zip(places, seen, strict=True)}


def tip_on(height_mm: float, unevenness: float, seed: int) -> bytes:
    """Return a JPEG of an opening seen tip-on, marked blade up; plus unevenness: the left half is larger."""
    rng = np.random.default_rng(seed)
    width, height = SIZE
    scene: Pixels = np.full((height, width, 3), (58, 50, 44), np.uint8)
    light = np.linspace(0, 40, width, dtype=np.uint8)[None, :, None]
    scene = np.asarray(cv2.add(scene, np.broadcast_to(light, scene.shape).copy()), np.uint8)
    across = np.linspace(-1, 1, 241)
    half = height_mm / 2 * (1 - across**2) * (1 - 1.33 * unevenness * across)
    for wall, colour in ((0.55, CANE), (0.0, (24, 18, 14))):
        top = np.stack([across * (3.5 + wall * 0.3), -half - wall], axis=1)
        bottom = np.stack([across * (3.5 + wall * 0.3), half + wall], axis=1)[::-1]
        outline = np.vstack([top, bottom]) * 150 + np.array([width / 2, height / 2])
        cv2.fillPoly(scene, [np.round(outline * 16).astype(np.int32)], colour, cv2.LINE_AA, shift=4)
    return _taken(scene, rng, blur=1.2)


def _pose(rng: np.random.Generator) -> tuple[Floats, Floats, Floats]:
    """Camera matrix, rotation and shift that look down on the card from about 25 cm."""
    width, height = SIZE
    f = FOCAL_35MM / 43.27 * float(np.hypot(width, height))
    camera = np.array([[f, 0, width / 2], [0, f, height / 2], [0, 0, 1.0]])
    tilt = rng.uniform(-0.1, 0.1, 3)
    rotation = np.asarray(cv2.Rodrigues(tilt)[0], float)
    middle = np.array([card.WIDTH_MM / 2, card.HEIGHT_MM / 2, 0.0])
    shift = np.array([*rng.uniform(-6, 6, 2), rng.uniform(150, 168)]) - rotation @ middle
    return camera, rotation, shift


def _homography(camera: Floats, rotation: Floats, shift: Floats, height: float) -> Floats:
    """From card millimetres, at a height above the card, to pixels; the card's z axis points away."""
    lifted = shift - rotation[:, 2] * height
    return np.asarray(camera @ np.column_stack([rotation[:, 0], rotation[:, 1], lifted]), float)


def _along_reed(look: Look, camera: Floats, rotation: Floats, shift: Floats) -> Floats:
    """From card millimetres, on the reed's surface that falls from foot to tip, to pixels."""
    fall = (TIP_MM - FOOT_MM) / look.length
    lifted = shift - rotation[:, 2] * (FOOT_MM - fall * card.FOOT_X_MM)
    along = rotation[:, 0] - rotation[:, 2] * fall
    return np.asarray(camera @ np.column_stack([along, rotation[:, 1], lifted]), float)


@lru_cache(maxsize=1)
def _card() -> Pixels:
    picture = Image.open(io.BytesIO(cards.png(1, dpi=250))).convert("RGB")
    return np.asarray(picture)


def _table(rng: np.random.Generator) -> Pixels:
    width, height = SIZE
    grain = rng.normal(0, 1, (height, 1)).cumsum(axis=0)
    grain = (grain - grain.min()) / (np.ptp(grain) or 1)
    light = np.linspace(1.0, 0.8, width)[None, :]
    base = np.array(((120, 88, 60), (92, 96, 98), (150, 128, 100))[int(rng.integers(3))], float)
    lit: Floats = (0.8 + 0.25 * grain) * light
    return np.stack([(lit * colour).astype(np.uint8) for colour in base], axis=2)  # at most 1.05 times 150


def _lay(scene: Pixels, picture: Pixels, mask: Pixels, onto: Floats) -> Pixels:
    """Lay a flat picture with a mask into the scene; only the part it covers is touched."""
    height, width = picture.shape[:2]
    corners = np.array([[[0, 0], [width, 0], [width, height], [0, height]]], float)
    spread = cv2.perspectiveTransform(corners, onto)[0]
    x0, y0 = np.clip(spread.min(axis=0).astype(int) - 2, 0, SIZE)
    x1, y1 = np.clip(spread.max(axis=0).astype(int) + 3, 0, SIZE)
    here = np.array([[1, 0, -x0], [0, 1, -y0], [0, 0, 1.0]]) @ onto
    area = (int(x1 - x0), int(y1 - y0))
    warped = cv2.warpPerspective(picture, here, area, flags=cv2.INTER_LINEAR)
    share = cv2.warpPerspective(mask, here, area, flags=cv2.INTER_LINEAR).astype(np.float32) / 255
    scene[y0:y1, x0:x1] = cv2.blendLinear(warped, np.ascontiguousarray(scene[y0:y1, x0:x1]), share, 1 - share)
    return scene


def _reed(look: Look) -> tuple[Pixels, Pixels]:
    """A reed lying flat, foot left, as picture and mask at PER_MM pixels a millimetre."""
    picture = np.zeros((14 * PER_MM, int((look.length + 2 * MARGIN_MM) * PER_MM), 3), np.uint8)
    mask = np.zeros(picture.shape[:2], np.uint8)
    thread_start = look.staple - 13
    start_of_scrape = look.length - look.scrape

    def part(x0: float, x1: float, w0: float, w1: float, colour: tuple[int, int, int]) -> None:
        corners = [(x0, -w0 / 2), (x1, -w1 / 2), (x1, w1 / 2), (x0, w0 / 2)]
        points = np.array([((x + MARGIN_MM) * PER_MM, (y + 7) * PER_MM) for x, y in corners])
        fixed = np.round(points * 16).astype(np.int32)
        cv2.fillPoly(picture, [fixed], colour, cv2.LINE_AA, shift=4)
        cv2.fillPoly(mask, [fixed], 255, cv2.LINE_AA, shift=4)

    part(0, 2.5, 6.2, 6.2, METAL)
    part(2.5, 26, 6.9, 6.6, CORK)
    part(26, thread_start, 5.4, 5.0, METAL)
    part(look.thread_end, look.length, 4.4, look.tip_width, BARK if look.scrape else CANE)
    if look.scrape:
        width = 4.4 + (look.tip_width - 4.4) * (start_of_scrape - look.thread_end) / (
            look.length - look.thread_end
        )
        shoulder = min(look.length - look.tip, start_of_scrape + 2.5)
        part(shoulder, look.length, width + 0.3, look.tip_width, SCRAPED)
        part(start_of_scrape, shoulder, 0.6, width + 0.1, SCRAPED)
        part(look.length - look.tip, look.length, look.tip_width - 0.25, look.tip_width, (246, 236, 206))
    part(thread_start, look.thread_end, 5.2, 4.8, THREADS[look.thread % len(THREADS)])
    _shade_round(picture)
    return picture, mask


def _shade_round(picture: Pixels) -> None:
    """Darken towards the edges, as a round thing is."""
    across = np.linspace(-1, 1, picture.shape[0])
    light = 1.04 - 0.5 * np.abs(across) ** 1.5
    picture[:] = np.clip(picture * light[:, None, None], 0, 255).astype(np.uint8)


@lru_cache(maxsize=1)
def _noise() -> NDArray[np.int16]:
    grain = np.random.default_rng(0).normal(0, 2.2, (SIZE[1], SIZE[0], 1))
    return np.repeat(np.round(grain).astype(np.int16), 3, axis=2)


def _taken(scene: Pixels, rng: np.random.Generator, blur: float) -> bytes:
    noise = np.roll(_noise(), int(rng.integers(SIZE[0])), axis=1)
    noisy = cv2.add(cv2.GaussianBlur(scene, (0, 0), blur), noise, dtype=cv2.CV_8U)
    out = io.BytesIO()
    Image.fromarray(noisy).save(out, "JPEG", quality=88)
    return out.getvalue()
