"""From points of known place and where they are seen to a camera with its covariance, by least squares."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reeds.numbers.late import cv2, np
from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.camera import SHIFT, SIZE, TURN, Frame, Solved, project

if TYPE_CHECKING:
    from scipy.optimize import OptimizeResult

FULL_FRAME_MM = (36.0, 43.267)  # width and diagonal of the 35 mm frame
# common practice, from memory: main cameras of phones lie between 23 and 35 mm for a 35 mm frame
USUAL_FOCAL_35MM = 27.5
U_USUAL_LOG = 0.16
U_STATED_LOG = 0.01
U_DISTORTION_SHARE = 0.003  # 0.5 % at the corner as limits: 0.005 / sqrt(3)
U_CENTRE_SHARE = 0.002  # of the half diagonal
LEAST_NOISE_PX = 0.03
FIRST_NOISE_PX = 0.3  # of a corner, before the corners have said it themselves
NO_FOCAL = gettext_noop("The focal length is not known: it was judged from the card's perspective.")


@dataclass(frozen=True)
class Prior:
    """What is believed of the first four camera numbers before looking: (4,) mean and (4,) u."""

    mean: Floats
    u: Floats


def focal_prior(frame: Frame, focal_35mm: float | None) -> Prior:
    """Return the prior of focal length, distortion and principal point.

    Makers state the 35 mm equivalent by the diagonal or by the width; in a 4:3 picture the two
    differ by 4 %. The middle is taken and half the difference carried as a rectangular limit
    (JCGM 100:2008, 4.3.7), with 1 % for rounding and for focusing close.
    """
    across = frame.half_diagonal * 2 / FULL_FRAME_MM[1]
    along = max(frame.width, frame.height) / FULL_FRAME_MM[0]
    half = abs(np.log(across / along)) / 2
    known = focal_35mm is not None
    focal = np.log((focal_35mm or USUAL_FOCAL_35MM) * np.sqrt(across * along))
    spread = np.hypot(half / np.sqrt(3), U_STATED_LOG) if known else U_USUAL_LOG
    centre_u = U_CENTRE_SHARE * frame.half_diagonal
    return Prior(floats([focal, 0, 0, 0]), floats([spread, U_DISTORTION_SHARE, centre_u, centre_u]))


def solve_camera(
    points: Floats, pixels: Floats, frame: Frame, prior: Prior, *, noise_px: float | None = None
) -> Solved:
    """Find the camera that sees `points` at `pixels`.

    Parameters
    ----------
    points : (n, 3) array
        mm on the table, all in one plane, n at least 4.
    pixels : (n, 2) array
    frame, prior
        The picture's size; what is known of the lens.
    noise_px : float, optional
        Standard deviation of a coordinate where it is known; else judged from the residuals.

    Returns
    -------
    Solved
        Of the two poses in which a small plane can be seen, the one that fits better.

    Source
    ------
    Least squares with prior information, the prior's four terms as rows beside the corners'; covariance
    by the inverse normal matrix (JCGM 100:2008, H.3 for its use).
    """
    starts = _starts(points, pixels, frame, prior)
    first = [_fit(start, points, pixels, frame, prior, noise_px or FIRST_NOISE_PX) for start in starts]
    best = min(first, key=lambda fit: float(fit.cost)).x
    noise = noise_px or _noise(best, points, pixels, frame)
    fit = _fit(best, points, pixels, frame, prior, noise)
    squares = float(((project(fit.x, frame, points) - pixels) ** 2).sum())
    noise = noise_px or _noise(fit.x, points, pixels, frame)
    covariance = floats(np.linalg.inv(fit.jac.T @ fit.jac))
    freedom, cost = 2 * len(points) - 6, 2 * float(fit.cost)
    return Solved(floats(fit.x), covariance, frame, noise, squares, freedom, cost)


def _noise(numbers: Floats, points: Floats, pixels: Floats, frame: Frame) -> float:
    squares = float(((project(numbers, frame, points) - pixels) ** 2).sum())
    return max(LEAST_NOISE_PX, float(np.sqrt(squares / max(1, 2 * len(points) - 8))))


def _starts(points: Floats, pixels: Floats, frame: Frame, prior: Prior) -> list[Floats]:
    focal = float(np.exp(prior.mean[0]))
    middle = frame.centre
    matrix = floats([[focal, 0, middle[0]], [0, focal, middle[1]], [0, 0, 1]])
    origin = points.mean(axis=0)
    _, turns, shifts, _ = cv2.solvePnPGeneric(
        points - origin, pixels.reshape(-1, 1, 2), matrix, None, flags=cv2.SOLVEPNP_IPPE
    )
    starts = []
    for turn, shift in zip(turns, shifts, strict=True):
        numbers = np.zeros(SIZE)
        numbers[: len(prior.mean)] = prior.mean
        numbers[TURN] = turn.ravel()
        numbers[SHIFT] = shift.ravel() - cv2.Rodrigues(turn)[0] @ origin
        starts.append(numbers)
    return starts


# what each of the ten numbers is moved by to see what follows, in its own unit (see `camera.project`)
SLOPE_STEPS = (1e-5, 1e-6, 1e-2, 1e-2, 1e-6, 1e-6, 1e-6, 1e-4, 1e-4, 1e-4)


def _fit(
    start: Floats, points: Floats, pixels: Floats, frame: Frame, prior: Prior, noise: float
) -> OptimizeResult:
    """Return the camera of least squares near `start`, with residuals and their slope in units of their u."""

    def residuals(numbers: Floats) -> Floats:
        seen = (project(numbers, frame, points) - pixels).ravel() / noise
        return np.concatenate([seen, (numbers[:4] - prior.mean) / prior.u])

    def slope(numbers: Floats) -> Floats:
        moved = [
            (residuals(numbers + s) - residuals(numbers - s)) / (2 * s.max()) for s in np.diag(SLOPE_STEPS)
        ]
        return np.stack(moved, 1)

    # half of what the site would take to start, and needed only where a card is looked at
    from scipy.optimize import least_squares

    return least_squares(residuals, start, jac=slope, method="lm", x_scale="jac")
