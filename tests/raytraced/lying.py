"""A reed lying on the card (or beside a ruler or an ID-1 card): scene and truth drawn from a seed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from tests.raytraced import beside, eye, reed, room
from tests.raytraced.body import Body, any_body
from tests.raytraced.lens import Camera, aim, focal_px
from tests.raytraced.phone import any_phone, blurred, in_the_dark
from tests.raytraced.pov import HEAD, Scene, placed
from tests.raytraced.project import FOOT_MM, MARKERS, card_bitmap
from tests.raytraced.sheet import CARD_MM, Sheet, bent, corners, scrambled
from tests.raytraced.shot import Shot, Truth, rng_of

Array = npt.NDArray[Any]
SIZES = ((1920, 1440), (1800, 1350), (2016, 1344), (2048, 1152))
CHAT = ((1600, 1200), (1600, 1067), (1600, 900))
OTHER_PLACES = np.array(
    [(3, 60, 6), (1, 8, 80), (7, 110, 78), (0, 14, 8), (9, 112, 10), (5, 60, 82), (2, 8, 42)]
)


@dataclass(frozen=True)
class Conditions:
    """What a set of pictures has in common.

    `card` is ours, other, two or none; `spoil` is blur or dark; `across` and `beside` name a thing.
    """

    reed: bool = True
    bent: bool = False
    factor: tuple[float, float] = (1.0, 1.0)
    across: str = ""
    beside: str = ""
    card: str = "ours"
    spoil: str = ""
    tilt: tuple[float, float] = (0, 22)
    distance: tuple[tuple[float, float], ...] = (
        (150, 240),
        (240, 350),
    )  # near, as people do; as they are told
    sentence: str = ""


@dataclass(frozen=True)
class Pose:
    """How the reed lies: its axes (along, across, up as rows) and its foot, in the room."""

    axes: Array
    origin: Array


def shot(part: int, half: str, number: int, conditions: Conditions | None = None) -> Shot:
    """Return one picture, not yet taken."""
    cond = conditions or Conditions()
    rng, seed = rng_of(part, half, number)
    sheet = replace(bent(rng) if cond.bent else Sheet(), factor=float(rng.uniform(*cond.factor)))
    body, dress = any_body(rng), reed.any_dress(rng)
    dress = _crossed(rng, body, dress, cond.across)
    pose = lay(rng, body, sheet)
    thing = _beside(rng, body, pose, cond.beside)
    chat = rng.random() < 0.5
    camera, focal_35 = _camera(rng, cond, chat, _needed(cond, sheet, body, pose, thing))
    phone = any_phone(rng, chat=chat)
    if cond.spoil == "blur":
        phone = blurred(phone, float(rng.uniform(5, 9)))
    if cond.spoil == "dark":
        phone = in_the_dark(phone, float(rng.uniform(0.004, 0.015)), float(rng.uniform(0.006, 0.012)))
    focal = None if chat else focal_35
    scene = _scene(rng, cond, sheet, _reed_script(cond, body, dress, pose), thing, camera)
    truth = _truth(cond, sheet, body, pose, camera, focal)
    return Shot(scene, camera, phone, replace(truth, beside=_clicks(thing, camera)), seed, focal)


def lay(rng: np.random.Generator, body: Body, sheet: Sheet) -> Pose:
    """Lay a reed on the sheet: it rests on its cork, tips forward over the cork's edge, may roll a little."""
    foot = np.array([FOOT_MM[0], -FOOT_MM[1]]) * sheet.factor + rng.normal(0, 0.6, 2)
    yaw, roll = np.radians(rng.normal(0, 1.5)), np.radians(rng.normal(0, 5))
    way = np.array([np.cos(yaw), np.sin(yaw)])
    start, stop = body.cork[0] + 0.5, body.cork[1] - 0.5
    high = [sheet.height(*(foot + s * way)) for s in (start, stop, body.length)]
    front = high[1] + body.cork_radii[1]
    slope = (front - high[0] - body.cork_radii[0]) / (stop - start) - np.tan(np.radians(rng.uniform(0, 1.6)))
    under = body.gap.height / 2 + body.gap.lip
    slope = max(slope, (high[2] + under - front) / (body.length - stop))  # the tip touches
    along = np.array([*way, slope]) / np.hypot(1, slope)
    level = np.array([-way[1], way[0], 0])
    up = np.cross(along, level)
    axes = np.stack(
        [along, np.cos(roll) * level + np.sin(roll) * up, np.cos(roll) * up - np.sin(roll) * level]
    )
    return Pose(axes, np.array([*foot, front - slope * stop]))


def _crossed(rng: np.random.Generator, body: Body, dress: reed.Dress, what: str) -> reed.Dress:
    end = body.thread[1]
    if what == "wire":
        return replace(dress, wire=float(end + rng.uniform(3.5, 8)))
    if what == "hair":
        return replace(dress, hair=float(rng.uniform(end + 3, body.length - 3)))
    if what == "fishskin":
        return replace(dress, fishskin=(float(end - rng.uniform(2, 6)), float(end + rng.uniform(4, 9))))
    return dress


def _reed_script(cond: Conditions, body: Body, dress: reed.Dress, pose: Pose) -> str:
    return placed(reed.whole(body, dress), pose.axes, pose.origin) if cond.reed else ""


def _beside(rng: np.random.Generator, body: Body, pose: Pose, what: str) -> Any:
    middle = (pose.origin + body.length / 2 * pose.axes[0])[:2]
    off, turn = rng.uniform(5, 15), rng.normal(0, 2)
    if what == "ruler":
        corner = middle + np.array([-beside.RULER_MM[0] / 2 + rng.uniform(-4, 4), -off])
        return beside.Ruler(corner, turn, float(rng.uniform(0.5, 1.0)))
    if what == "id1":
        return beside.Id1(middle + np.array([-43 + rng.uniform(-6, 6), -off - 54]), turn, beside.ID1_MM[2])
    return None


def _clicks(thing: Any, camera: Camera) -> dict[str, Any]:
    if isinstance(thing, beside.Ruler):
        a, b = camera.see(thing.marks(15, 85))
        return {"known": (70.0, a, b)}
    return {"id1": camera.see(thing.corners()).tolist()} if thing is not None else {}


def _needed(cond: Conditions, sheet: Sheet, body: Body, pose: Pose, thing: Any) -> Array:
    """Return all that must be in the picture, (n, 3) mm."""
    w, h = CARD_MM
    ends = eye.in_room(np.array([[-2, 0, 0], [body.length + 2, 0, 0]]), pose.axes, pose.origin)
    if cond.card != "none":
        return np.vstack([ends, sheet.lift(np.array([[0, 0], [w, 0], [w, -h], [0, -h]]))])
    if isinstance(thing, beside.Ruler):
        return np.vstack([ends, thing.marks(0, 100)])
    return np.vstack([ends, thing.corners()]) if thing is not None else ends


def _camera(rng: np.random.Generator, cond: Conditions, chat: bool, need: Array) -> tuple[Camera, float]:
    middle = (need.max(0) + need.min(0)) / 2 * [1, 1, 0]
    sizes = CHAT if chat else SIZES
    reach = cond.distance[rng.integers(len(cond.distance))]
    for _ in range(5000):
        size = sizes[rng.integers(len(sizes))]
        focal_35 = float(rng.uniform(24, 28))
        tilt, around = np.radians(rng.uniform(*cond.tilt)), rng.uniform(0, 2 * np.pi)
        away = np.array([np.sin(tilt) * np.cos(around), np.sin(tilt) * np.sin(around), np.cos(tilt)])
        target = middle + np.array([*rng.normal(0, 6, 2), 0])
        roll = rng.choice([0, 0, 0, 180, 90, 270]) + rng.normal(0, 6)
        place, axes = aim(target, rng.uniform(*reach) * away, roll)
        half = np.hypot(*size) / 2 / focal_px(focal_35, size)
        camera = Camera(
            place,
            axes,
            focal_px(focal_35, size),
            size,
            rng.normal(0, 0.003) / half**2,
            rng.normal(0, 0.0015) / half**4,
        )
        seen = camera.see(need)
        if (seen > 6).all() and (seen < np.array(size) - 6).all():
            return camera, focal_35
    raise RuntimeError("no view in 5000 tries")


def _scene(
    rng: np.random.Generator, cond: Conditions, sheet: Sheet, lying: str, thing: Any, camera: Camera
) -> Scene:
    images: dict[str, bytes] = {}
    parts = [HEAD, camera.script(), room.sky(rng), room.any_table(rng)]
    parts += [lamp.script() for lamp in room.any_lamps(rng)]
    if rng.random() < 0.5:
        parts.append(room.phone(camera.place, camera.axes[2]))
    if cond.card != "none":
        bitmap = card_bitmap()
        images["card.png"] = scrambled(bitmap, OTHER_PLACES) if cond.card == "other" else bitmap
        parts.append(sheet.script("card.png"))
    if cond.card == "two":
        shift = (rng.uniform(-30, 30), -rng.uniform(60, 112))
        parts.append(sheet.script("card.png", shift, rng.normal(0, 6), 0.3 if shift[1] > -100 else -0.05))
    if isinstance(thing, beside.Ruler):
        images["ruler.png"] = beside.ruler_bitmap()
        parts.append(thing.script())
    elif thing is not None:
        parts.append(thing.script(rng.uniform(0.1, 0.8, 3)))
    return Scene("".join([*parts, lying]), camera.drawn, images)


def _truth(
    cond: Conditions, sheet: Sheet, body: Body, pose: Pose, camera: Camera, focal: float | None
) -> Truth:
    ends = eye.in_room(np.array([[0, 0, 0], [body.length, 0, 0]]), pose.axes, pose.origin)[:, 2]
    where = (pose.axes, pose.origin, camera)
    markers = {n: camera.see(corners(c, sheet)) for n, c in MARKERS.items()}
    told = Truth(factor=sheet.factor, bend=sheet.bend, focal_35mm=focal, sentence=cond.sentence)
    told = replace(told, markers=markers if cond.card == "ours" else {}, across=cond.across)
    if not cond.reed:
        return told
    return replace(
        told,
        lengths=body.lengths(),
        seen=eye.surface_points(body, *where),
        axis=eye.axis_points(body, *where),
        surface={n: tuple(eye.surface_spot(body, n, *where).tolist()) for n in body.along()},
        heights=(float(ends[0]), float(ends[1])),
    )
