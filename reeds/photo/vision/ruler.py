"""Lengths by two clicks on a known length beside the reed, over every tilt that two clicks leave open."""

from __future__ import annotations

from dataclasses import dataclass

from reeds.numbers.late import cv2, np
from reeds.numbers.measured import SQRT12, Measured
from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.camera import SHIFT, SIZE, TURN, Frame, directions
from reeds.photo.vision.lengths import ENDS, OVER_AXIS_MM, Axis, Clicks, Points, places, plain_lengths
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.solve import focal_prior

# common practice, from memory: a ruler's scale lies 0 to 1 mm above the table
RULER_LIFT_MM = Measured(0.5, 1 / SQRT12)
STEEPEST_UNSEEN_DEGREES = 25.0
LEAST_APART_PX = 5.0
DRAWS = 400
SEED = 20080100
# where in a row of chances begin: lens, lift, foot, tip, heights over the axis, clicks; the ruler's are first
CHANCES = (4, 8, 9, 10, 11, 11 + len(OVER_AXIS_MM))

NOT_LEVEL = gettext_noop("Two clicks do not tell the tilt: the doubt covers every tilt to 25 degrees.")
NOT_BESIDE = gettext_noop(
    "The ruler's middle does not lie close beside the reed's: lay it there, its edge at the reed, or take "
    "the photo on the printed card."
)
BAD_LENGTH = gettext_noop(
    "The two points of the known length must lie apart and its millimetres must be above zero."
)


# how far the ruler's middle may lie from the reed's, as shares of the reed, along it and across: set on twice
# 500 scenes of tests/simulator with a tilt to 10 degrees, where 95 % of errors stay below 0.59 mm within
# these, below 0.68 within 0.15 and 0.25; beyond, an unseen tilt moves a length too far: the card is asked for
BESIDE_ALONG, BESIDE_ACROSS = 0.1, 0.12


@dataclass(frozen=True)
class KnownLength:
    """`mm` between two pixels `start` and `stop`, (2,) each."""

    mm: float
    start: Floats
    stop: Floats

    def moved(self, shifts: Floats) -> KnownLength:
        """Return it with its two pixels shifted, (2, 2) px."""
        return KnownLength(self.mm, self.start + shifts[0], self.stop + shifts[1])


def is_beside(known: KnownLength, points: Points) -> bool:
    """Tell whether the middle of the known length lies beside the reed's, as far as foot and tip are seen."""
    if not set(ENDS) <= set(points):
        return True
    foot, tip = (floats(points[name]) for name in ENDS)
    way = tip - foot
    reach = float(np.linalg.norm(way))
    off = ((known.start + known.stop) / 2 - (foot + tip) / 2) / reach
    along, across = abs(off @ way) / reach, abs(off @ floats([-way[1], way[0]])) / reach
    return bool(along <= BESIDE_ALONG and across <= BESIDE_ACROSS)


def lengths_by_known(
    known: KnownLength, clicks: Clicks, frame: Frame, focal_35mm: float | None, axis: Axis, noise_px: float
) -> dict[str, Measured]:
    """Return lengths by a ruler beside the reed.

    Two clicks do not tell the tilt: every tilt to 25 degrees in any direction is held possible, and
    what that does to each length is its doubt, also where the camera was in fact held level: nothing in
    two clicks tells the one photo from the other. Propagation of distributions with a fixed seed.

    Parameters
    ----------
    known : KnownLength
    clicks : Clicks
        Landmarks, each with its doubt.
    frame, focal_35mm, axis
        The picture's size; mm, or None where it is not known; the reed's axis above the table.
    noise_px : float
        Standard uncertainty of each coordinate of the ruler's two points, px.

    Source
    ------
    JCGM 101:2008, 5.9 and 7; the value is the median, u half of what holds 95 % about it over two.
    """
    prior = focal_prior(frame, focal_35mm)
    pixels = floats(list(clicks.points.values()))
    u_px = floats([clicks.u_px[name] for name in clicks.points])[:, None]
    chances = _antithetic(np.random.default_rng(SEED), 11 + len(OVER_AXIS_MM) + pixels.size)
    draws = []
    for chance, turn in zip(chances, _turns(), strict=True):
        ruler, lens, lift, foot, tip, high, click = np.split(chance, CHANCES)
        shaken = known.moved(noise_px * ruler.reshape(2, 2))
        numbers = _lay(shaken, frame, prior.mean + prior.u * lens, turn, _drawn(RULER_LIFT_MM, lift))
        moved = pixels + u_px * click.reshape(pixels.shape)
        points = {n: (float(p[0]), float(p[1])) for n, p in zip(clicks.points, moved, strict=True)}
        heights = (_drawn(axis.foot, foot), _drawn(axis.tip, tip))
        over = {name: one.value + one.u * high[i] for i, (name, one) in enumerate(OVER_AXIS_MM.items())}
        draws.append(plain_lengths(places(numbers, frame, points, heights, over)))
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


def level_camera(known: KnownLength, frame: Frame, focal_35mm: float | None) -> Floats:
    """Return the camera, (10,), that looks straight down and sees the known length at its millimetres.

    Raises
    ------
    PhotoRefused
        If the clicks coincide or the length is not positive.
    """
    if not known.mm > 0 or float(np.linalg.norm(known.stop - known.start)) < LEAST_APART_PX:
        raise PhotoRefused(BAD_LENGTH)
    return _lay(known, frame, focal_prior(frame, focal_35mm).mean, np.zeros(3), RULER_LIFT_MM.value)
