"""The printed card as a sheet of paper that may bend: found together with the camera from its markers.

Two things beside the camera move a marker's corners. Blur, sharpening and the finder's threshold pull all
four inwards by about as much, whatever the marker: one unknown. And paper bends: its height is a quadratic of
the place, three unknowns, and along the direction in which it bends most has a third and a fourth power, two
more, since paper held down at its edges is no parabola; it does not stretch. What none of these explains is
noise; a wave is not explained.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING

from reeds.numbers.late import np
from reeds.numbers.measured import Measured
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.camera import SIZE, Frame, Solved, project
from reeds.photo.vision.card import AXIS_Y_MM, FOOT_X_MM, HEIGHT_MM, WIDTH_MM
from reeds.photo.vision.lengths import USUAL_REED_MM, USUAL_TIP_HEIGHT_MM, Axis
from reeds.photo.vision.solve import FIRST_NOISE_PX, LEAST_NOISE_PX, Prior, solve_camera

if TYPE_CHECKING:
    from scipy.optimize import OptimizeResult

REACH_MM = WIDTH_MM / 2
BENDS, MORE = 3, 2
# what a card on a table may rise towards its edge, before looking, by each power: own choice, no source
U_BEND_MM = 3.0
U_PULL_PX = 1.0
PARTS = (SIZE, SIZE + BENDS, SIZE + BENDS + MORE)
UNKNOWN = PARTS[-1] + 1
ROUNDS = 3
# where the reed's cork stands on the card: from its foot, mm (usual places, from memory)
CORK_MM = (1.0, 25.0)
# how high the axis is where the tip touches the card
LEAST_TIP_MM = 0.5
# how much of the correction of heights is in doubt, and of any length for each mm of bend: by what arcs and
# bows of a cosine leave, 60 of each, in the geometry of the tests
U_BENT_SHARE = 0.25
U_SHARE_A_MM = 0.0002


@dataclass(frozen=True)
class Paper:
    """How the card lies: its height over the table's plane, which touches it at its middle.

    Attributes
    ----------
    bend : (3,) array
        Height, mm, at the card's half width from its middle: along it, along and across, across.
    factor : float
        The card's printing factor.
    more : (2,) array
        What its height has there, mm, of the third and the fourth power of the way along `way`.
    way : (2,) array
        Unit vector on the card along which it bends most; zeros where that was not looked for.
    """

    bend: Floats
    factor: float = 1.0
    more: Floats = field(default_factory=lambda: np.zeros(MORE))
    way: Floats = field(default_factory=lambda: np.zeros(2))

    def height(self, flat: Floats) -> Floats:
        """Return how high places of the printed card, (n, 2) true mm, lie over the plane, (n,) mm."""
        away = (flat - self.middle) / REACH_MM
        (x, y), s = away.T, away @ self.way
        squares = np.stack([x * x, x * y, y * y], axis=1) @ self.bend
        return floats(squares + np.stack([s**3, s**4], axis=1) @ self.more)

    def slope(self, away: Floats) -> Floats:
        """Return how steeply it rises, (..., 2), at places so far from its middle, (..., 2) mm."""
        along, twist, across = self.bend / REACH_MM**2
        s = (away @ self.way)[..., None] / REACH_MM
        third, fourth = self.more / REACH_MM
        steeper = (3 * third * s**2 + 4 * fourth * s**3) * self.way
        return floats(away @ floats([[2 * along, twist], [twist, 2 * across]]) + steeper)

    def lie(self, flat: Floats) -> Floats:
        """Return where places of the card, (n, 2) true mm along the paper, come to lie, (n, 3) mm.

        On the way there from the middle a slope g draws it inwards by the integral of g (g ds) / 2, to the
        third order; Gauss's four nodes take that of a fourth power exactly.
        """
        away = flat - self.middle
        nodes, shares = _nodes()
        slopes = self.slope(nodes[:, None, None] * away)
        drawn_in = np.tensordot(shares / 2, slopes * (slopes * away).sum(axis=-1, keepdims=True), axes=1)
        return np.column_stack([flat - drawn_in, -self.height(flat)])

    def bends_most(self) -> Floats:
        """Return the unit vector, (2,), along which its square part bends most; zeros where it is flat."""
        if not self.bend.any():
            return np.zeros(2)
        along, twist, across = self.bend
        values, vectors = np.linalg.eigh(floats([[along, twist / 2], [twist / 2, across]]))
        return floats(vectors[:, int(np.argmax(np.abs(values)))])

    @property
    def middle(self) -> Floats:
        """The card's middle, (2,) true mm."""
        return floats([WIDTH_MM / 2, HEIGHT_MM / 2]) * self.factor

    @property
    def u_share(self) -> float:
        """What a bend of yet another form leaves in doubt of any length, as a share of it."""
        return U_SHARE_A_MM * float(np.abs(self.bend).max())

    def under(self, axis: Axis) -> Axis:
        """Return how high an axis over the card runs over the plane: on its cork, or its tip touches."""
        places = floats([[FOOT_X_MM + s, AXIS_Y_MM] for s in (*CORK_MM, USUAL_REED_MM)]) * self.factor
        back, front, tip = self.height(places)
        slope = (front - back) / (CORK_MM[1] - CORK_MM[0])
        foot = back - slope * CORK_MM[0]
        least = tip + LEAST_TIP_MM - min(axis.tip.value, USUAL_TIP_HEIGHT_MM.value)
        rises = foot, max(foot + slope * USUAL_REED_MM, least)
        both = zip((axis.foot, axis.tip), rises, strict=True)
        return Axis(*(height + Measured(rise, U_BENT_SHARE * abs(rise)) for height, rise in both))


@cache
def _nodes() -> tuple[Floats, Floats]:
    """Return places and weights of four nodes on the way from 0 to 1 (Gauss and Legendre), (4,) each."""
    places, weights = np.polynomial.legendre.leggauss(4)
    return floats((places + 1) / 2), floats(weights / 2)


def solve_paper(
    flat: Floats, pixels: Floats, frame: Frame, prior: Prior, factor: float
) -> tuple[Solved, Paper, Floats]:
    """Find the camera and the bend with which markers' corners are seen where they are.

    Parameters
    ----------
    flat : (n, 4, 2) array
        Corners of the markers, true mm along the paper.
    pixels : (n, 4, 2) array
    frame, prior
        As `solve.solve_camera`.
    factor : float
        The printing factor that is in `flat`.

    Returns
    -------
    (Solved, Paper, (n,) array)
        The camera's covariance has the doubt of bend and pull in it; how far each marker is off, px (rms).

    Source
    ------
    Least squares with prior information, as `solve.solve_camera`; own model of paper and pull.
    """
    corners = _Corners(flat.reshape(-1, 2), pixels.reshape(-1, 2), frame, prior, factor)
    start, noise, paper = corners.start(), FIRST_NOISE_PX, Paper(np.zeros(BENDS), factor)
    for _ in range(ROUNDS):
        way = paper.bends_most()
        fit, noise_then = corners.fit(start, noise, way), noise
        squares = float((fit.fun[: corners.seen.size] ** 2).sum()) * noise**2
        noise = max(LEAST_NOISE_PX, float(np.sqrt(squares / max(1, corners.seen.size - UNKNOWN))))
        start, paper = fit.x, corners.paper(fit.x, way)
    covariance = floats(np.linalg.inv(fit.jac.T @ fit.jac))[:SIZE, :SIZE]
    freedom, cost = corners.seen.size - 6, 2 * float(fit.cost)
    solved = Solved(floats(fit.x[:SIZE]), covariance, frame, noise, squares, freedom, cost)
    off = np.sqrt((fit.fun[: corners.seen.size].reshape(-1, 8) ** 2).mean(axis=1)) * noise_then
    return solved, paper, floats(off)


@dataclass(frozen=True)
class _Corners:
    """Corners on the paper, (n, 2) true mm, where they are seen, (n, 2) px, and what is believed before."""

    flat: Floats
    seen: Floats
    frame: Frame
    prior: Prior
    factor: float

    def start(self) -> Floats:
        """Return the numbers of a flat card without pull: camera, bend, what more of it, pull."""
        on_plane = np.column_stack([self.flat, np.zeros(len(self.flat))])
        camera = solve_camera(on_plane, self.seen, self.frame, self.prior).numbers
        return np.concatenate([camera, np.zeros(UNKNOWN - SIZE)])

    def paper(self, numbers: Floats, way: Floats) -> Paper:
        """Return how the card lies by these numbers."""
        _, bend, more, _ = np.split(numbers, PARTS)
        return Paper(floats(bend), self.factor, floats(more), way)

    def fit(self, start: Floats, noise: float, way: Floats) -> OptimizeResult:
        """Return the least squares near `start`, residuals in units of their u."""

        def residuals(numbers: Floats) -> Floats:
            camera, bend, more, pull = np.split(numbers, PARTS)
            drawn = project(camera, self.frame, self.paper(numbers, way).lie(self.flat))
            off = (_pulled(drawn, float(pull[0])) - self.seen).ravel() / noise
            of_lens = (camera[:4] - self.prior.mean) / self.prior.u
            return np.concatenate([off, of_lens, bend / U_BEND_MM, more / U_BEND_MM, pull / U_PULL_PX])

        # half of what the site would take to start, and needed only where a card is looked at
        from scipy.optimize import least_squares

        return least_squares(residuals, start, method="lm", x_scale="jac")


def _pulled(seen: Floats, pull: float) -> Floats:
    """Return corners, (4 n, 2) px, drawn towards the middle of their marker."""
    four = seen.reshape(-1, 4, 2)
    away = four - four.mean(axis=1, keepdims=True)
    return floats((four - pull * away / np.linalg.norm(away, axis=2, keepdims=True)).reshape(-1, 2))
