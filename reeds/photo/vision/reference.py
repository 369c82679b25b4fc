"""Without the card: scale from two clicks on a known length, or from the corners of an ID-1 card."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from reeds.numbers.measured import Measured
from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.camera import SHIFT, SIZE, TURN, Frame, directions
from reeds.photo.vision.lengths import Axis, Clicks, Scatter, measure, places, plain_lengths, scatter
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.solve import LEAST_NOISE_PX, Prior, Solved, focal_prior, solve_camera

ID1_MM = (85.60, 53.98)  # ISO/IEC 7810
ID1_U_SHARE = 0.00084  # 85.47 to 85.72 mm unused: 0.125 / sqrt(3) / 85.60; from memory
# all corners are clicked on the card's upper or all on its lower edge, 0.76 mm apart (ISO/IEC 7810)
ID1_LIFT = Measured(0.38, 0.38)
# common practice, from memory: a ruler's scale lies 0 to 1 mm above the table
RULER_LIFT = Measured(0.5, 1 / np.sqrt(12))
STEEPEST_UNSEEN_DEGREES = 25.0
DRAWS = 400
SEED = 20080100

NOT_LEVEL = gettext_noop("Two clicks do not tell the tilt: the doubt covers every tilt to 25 degrees.")
BAD_LENGTH = gettext_noop(
    "The two points of the known length must lie apart and its millimetres must be above zero."
)
BAD_CORNERS = gettext_noop(
    "The four points are no card's corners: click them one after the other around the card."
)


@dataclass(frozen=True)
class KnownLength:
    """`mm` between two pixels `start` and `stop`, (2,) each."""

    mm: float
    start: Floats
    stop: Floats

    def moved(self, shifts: Floats) -> KnownLength:
        """Return it with its two pixels shifted, (2, 2) px."""
        return KnownLength(self.mm, self.start + shifts[0], self.stop + shifts[1])


def lengths_by_known(
    known: KnownLength, clicks: Clicks, frame: Frame, focal_35mm: float | None, axis: Axis
) -> dict[str, Measured]:
    """Return lengths by a ruler beside the reed.

    Two clicks do not tell the tilt: every tilt to 25 degrees in any direction is held possible, and
    what that does to each length is its doubt, also where the camera was in fact held level: nothing in
    two clicks tells the one photo from the other. Propagation of distributions with a fixed seed.

    Raises
    ------
    PhotoRefused
        If the clicks coincide or the length is not positive.

    Source
    ------
    JCGM 101:2008, 5.9 and 7; the value is the median, u half of what holds 95 % about it over two.
    """
    refuse_bad_length(known)
    prior = focal_prior(frame, focal_35mm)
    pixels = floats(list(clicks.points.values()))
    level = _lay(known, frame, prior.mean, np.zeros(3), 0.0)
    noise = scatter(_as_solved(level, frame), clicks.points, axis).noise_px()
    u_px = floats([clicks.u_px.get(n, noise) for n in clicks.points])[:, None]
    chances = _antithetic(np.random.default_rng(SEED), 11 + pixels.size)
    draws = []
    for chance, turn in zip(chances, _turns(), strict=True):
        ruler, lens, lift, foot, tip = np.split(chance[:11], [4, 8, 9, 10])
        shaken = known.moved(noise * ruler.reshape(2, 2))
        numbers = _lay(shaken, frame, prior.mean + prior.u * lens, turn, _drawn(RULER_LIFT, lift))
        moved = pixels + u_px * chance[11:].reshape(pixels.shape)
        points = {n: (float(p[0]), float(p[1])) for n, p in zip(clicks.points, moved, strict=True)}
        heights = (_drawn(axis.foot, foot), _drawn(axis.tip, tip))
        draws.append(plain_lengths(places(numbers, frame, points, heights)))
    return {name: _summed(floats([d[name] for d in draws])) for name in draws[0]}


def _summed(values: Floats) -> Measured:
    middle = float(np.median(values))
    return Measured(middle, float(np.quantile(np.abs(values - middle), 0.95)) / 2)


def _drawn(quantity: Measured, chance: Floats) -> float:
    return quantity.value + quantity.u * float(chance[0])


def _antithetic(rng: np.random.Generator, count: int) -> Floats:
    """Return `DRAWS` rows of standard normal numbers, each with its negative, so that means are exact."""
    half = rng.standard_normal((DRAWS // 2, count))
    return np.vstack([half, -half])


def _turns() -> Floats:
    """Return `DRAWS` turns, (n, 3) radians: any tilt to 25 degrees alike, any direction alike."""
    half = DRAWS // 2
    tilt = np.radians(STEEPEST_UNSEEN_DEGREES) * (np.arange(half) + 0.5) / half
    way = np.pi * (1 + np.sqrt(5)) * np.arange(half)  # golden angle: directions as even as can be
    some = np.column_stack([tilt * np.cos(way), tilt * np.sin(way), np.zeros(half)])
    return np.vstack([some, -some])


def _lay(known: KnownLength, frame: Frame, lens: Floats, turn: Floats, lift: float) -> Floats:
    """Return the camera with this lens and tilt, as far above the table as makes the length right."""
    numbers = np.zeros(SIZE)
    numbers[:4] = lens
    numbers[TURN] = turn
    rays = directions(numbers, frame, np.stack([known.start, known.stop]))
    flat = rays[:, :2] / rays[:, 2:]
    height = lift + known.mm / float(np.linalg.norm(flat[1] - flat[0]))
    numbers[SHIFT] = cv2.Rodrigues(turn)[0] @ floats([0, 0, height])
    return numbers


def _as_solved(numbers: Floats, frame: Frame) -> Solved:
    return Solved(numbers, np.zeros((SIZE, SIZE)), frame, 0.0, 0.0, 0)


def lengths_by_id1(
    corners: Sequence[Sequence[float]], clicks: Clicks, frame: Frame, focal_35mm: float | None, axis: Axis
) -> dict[str, Measured]:
    """Return lengths by an ID-1 card beside the reed, whose four corners give the tilt as well.

    Parameters
    ----------
    corners : four (x, y)
        Pixels, where the card's straight edges meet, one after the other around it, from anywhere.
    clicks, frame, focal_35mm, axis
        As elsewhere.

    Raises
    ------
    PhotoRefused
        If the four are no corners of a card as seen by any camera.

    Source
    ------
    ISO/IEC 7810: 85.60 x 53.98 mm, 0.76 mm thick.
    """
    solved, noise = camera_by_id1(corners, clicks, frame, focal_35mm, axis)
    set_u = {name: clicks.u_px.get(name, noise) for name in clicks.points}
    low = _above(axis, ID1_LIFT)
    return measure(solved, replace(clicks, u_px=set_u), low, Measured(1.0, ID1_U_SHARE))


def camera_by_id1(
    corners: Sequence[Sequence[float]], clicks: Clicks, frame: Frame, focal_35mm: float | None, axis: Axis
) -> tuple[Solved, float]:
    """Return the camera that sees the card's upper face level, and the noise of a click, px.

    Parameters and refusals as `lengths_by_id1`. Heights above that face are heights above the table less
    `ID1_LIFT`.
    """
    pixels = _around(floats(corners))
    prior = focal_prior(frame, focal_35mm)
    rough = min((_id1_solved(pixels, frame, prior, first, 0.7) for first in (0, 1)), key=lambda s: s.squares)
    if rough.squares > 4 * (0.03 * float(np.linalg.norm(pixels[0] - pixels[2]))) ** 2:
        raise PhotoRefused(BAD_CORNERS)
    line = scatter(rough, clicks.points, _above(axis, ID1_LIFT))
    noise = max(
        LEAST_NOISE_PX, Scatter(rough.squares + line.squares, rough.freedom + line.freedom).noise_px()
    )
    both = (_id1_solved(pixels, frame, prior, first, noise) for first in (0, 1))
    return min(both, key=lambda s: s.squares), noise


def level_camera(known: KnownLength, frame: Frame, focal_35mm: float | None) -> Floats:
    """Return the camera, (10,), that looks straight down and sees the known length at its millimetres.

    Raises
    ------
    PhotoRefused
        If the clicks coincide or the length is not positive.
    """
    refuse_bad_length(known)
    return _lay(known, frame, focal_prior(frame, focal_35mm).mean, np.zeros(3), RULER_LIFT.value)


def refuse_bad_length(known: KnownLength) -> None:
    """Raise PhotoRefused if the clicks coincide or the length is not a positive number."""
    if not known.mm > 0 or float(np.linalg.norm(known.stop - known.start)) < 5:
        raise PhotoRefused(BAD_LENGTH)


def _above(axis: Axis, lift: Measured) -> Axis:
    return Axis(axis.foot - lift, axis.tip - lift)


def _around(pixels: Floats) -> Floats:
    """Return the corners clockwise as seen (the picture's y runs down)."""
    if pixels.shape != (4, 2) or not cv2.isContourConvex(pixels.astype(np.float32)):
        raise PhotoRefused(BAD_CORNERS)
    x, y = pixels.T
    area = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
    return pixels if area > 0 else pixels[::-1]


def _id1_solved(pixels: Floats, frame: Frame, prior: Prior, first: int, noise: float) -> Solved:
    width, height = ID1_MM
    points = floats([[0, 0, 0], [width, 0, 0], [width, height, 0], [0, height, 0]])
    return solve_camera(points, np.roll(pixels, first, axis=0), frame, prior, noise_px=noise)
