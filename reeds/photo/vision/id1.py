"""The camera from the four corners of an ID-1 card (a bank card) lying beside the reed."""

from __future__ import annotations

from collections.abc import Sequence

from reeds.numbers.late import cv2, np
from reeds.numbers.measured import Measured
from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.camera import Frame, Solved
from reeds.photo.vision.lengths import Axis, Points, Scatter, scatter
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.solve import LEAST_NOISE_PX, Prior, focal_prior, solve_camera

ID1_MM = (85.60, 53.98)  # ISO/IEC 7810
U_ID1_SHARE = 0.00084  # 85.47 to 85.72 mm unused: 0.125 / sqrt(3) / 85.60; from memory
# all corners are clicked on the card's upper or all on its lower edge, 0.76 mm apart (ISO/IEC 7810)
ID1_LIFT_MM = Measured(0.38, 0.38)
# what a corner may be off the best camera's view before it is no card: a share of the diagonal; own choice
WORST_CORNER_SHARE = 0.03
FIRST_NOISE_PX = 0.7  # of a corner as clicked, before the corners have said it themselves

BAD_CORNERS = gettext_noop(
    "The four points are no card's corners: click them one after the other around the card."
)


def camera_by_id1(
    corners: Sequence[Sequence[float]], points: Points, frame: Frame, focal_35mm: float | None, axis: Axis
) -> tuple[Solved, float]:
    """Return the camera that sees the card's face, and the noise of a click, px.

    Parameters
    ----------
    corners : four (x, y)
        Pixels, where the card's straight edges meet, one after the other around it, from anywhere.
    points : mapping of name to (x, y)
        Landmarks, px; how far they are from one straight line says how finely was clicked.
    frame : Frame
    focal_35mm : float or None
        mm; None where it is not known.
    axis : Axis
        The reed's axis above the card's face, mm.

    Raises
    ------
    PhotoRefused
        If the four are no corners of a card as seen by any camera.

    Source
    ------
    ISO/IEC 7810: 85.60 x 53.98 mm, 0.76 mm thick.
    """
    pixels = _around(floats(corners))
    prior = focal_prior(frame, focal_35mm)
    # whether a long side or a short one was clicked first shows in which of the two fits
    turned = (np.roll(pixels, first, axis=0) for first in (0, 1))
    both = [(_solved(four, frame, prior, FIRST_NOISE_PX), four) for four in turned]
    rough, pixels = min(both, key=lambda one: one[0].cost)
    if rough.squares > 4 * (WORST_CORNER_SHARE * float(np.linalg.norm(pixels[0] - pixels[2]))) ** 2:
        raise PhotoRefused(BAD_CORNERS)
    line = scatter(rough, points, axis)
    spread = Scatter(rough.squares + line.squares, rough.freedom + line.freedom)
    noise = max(LEAST_NOISE_PX, spread.noise_px())
    return _solved(pixels, frame, prior, noise), noise


def _around(pixels: Floats) -> Floats:
    """Return the corners clockwise as seen (the picture's y runs down)."""
    if pixels.shape != (4, 2) or not cv2.isContourConvex(pixels.astype(np.float32)):
        raise PhotoRefused(BAD_CORNERS)
    x, y = pixels.T
    area = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
    return pixels if area > 0 else pixels[::-1]


def _solved(pixels: Floats, frame: Frame, prior: Prior, noise: float) -> Solved:
    """Return the camera that sees the card's corners there, a long side first."""
    width, height = ID1_MM
    points = floats([[0, 0, 0], [width, 0, 0], [width, height, 0], [0, height, 0]])
    return solve_camera(points, pixels, frame, prior, noise_px=noise)
