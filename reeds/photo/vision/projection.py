"""Planes along the reed as 3x3 matrices, which a page can apply by itself while a finger drags a landmark."""

from __future__ import annotations

from collections.abc import Mapping

from reeds.numbers.late import cv2, np
from reeds.numbers.measured import Measured
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.camera import Frame, meet_plane
from reeds.photo.vision.lengths import LANDMARKS, LENGTHS, ON_AXIS, OVER_AXIS, FlatPlane, Points, reed_axis


def seen_homography(numbers: Floats, frame: Frame, points: Points, heights: tuple[float, float]) -> Floats:
    """Return the matrix that takes pixels to mm on the reed's visible surface.

    Parameters
    ----------
    numbers, frame
        The camera, as `camera.project` takes it.
    points : mapping of name to (x, y)
        Landmarks, px; the plane goes through foot and tip as seen where both are there.
    heights : (foot, tip)
        Of the axis above the card, mm.

    Returns
    -------
    (3, 3) array
        H with (x, y, w) = H (px, py, 1) and (x/w, y/w) mm along and across from the foot, scaled so
        that its lowest right element is 1. It is fitted to the picture along the reed, so that the
        lens's distortion is in it as far as a matrix can hold it.

    Raises
    ------
    ValueError
        If the plane is seen edge on.
    """
    plane = reed_axis(numbers, frame, points, heights).seen(OVER_AXIS)
    return _matrix(numbers, frame, _strip(frame, points), plane, np.zeros(3))


def landmark_matrices(
    numbers: Floats, frame: Frame, points: Points, heights: tuple[float, float]
) -> dict[str, Floats]:
    """Return for every landmark the (3, 3) matrix from its pixel to mm along the reed's axis and across it.

    As `seen_homography`, but each in the plane as high over the axis as that landmark is seen, so that a
    distance between two landmarks is one along the axis.
    """
    axis, strip = reed_axis(numbers, frame, points, heights), _strip(frame, points)
    return {name: _matrix(numbers, frame, strip, axis, axis.lift(name, OVER_AXIS)) for name in LANDMARKS}


def _matrix(numbers: Floats, frame: Frame, pixels: Floats, plane: FlatPlane, lift: Floats) -> Floats:
    """Return the matrix of a plane raised by `lift`, (3,) mm, fitted at `pixels`, (n, 2)."""
    flat = plane.flat(meet_plane(numbers, frame, pixels, plane.origin + lift, plane.normal) - lift)
    if not np.isfinite(flat).all():
        raise ValueError("The plane of the reed is seen edge on.")
    matrix = floats(cv2.findHomography(pixels, flat, 0)[0])
    return floats(matrix / matrix[2, 2])


def _strip(frame: Frame, points: Points) -> Floats:
    """Return a grid of pixels, (n, 2), over the reed and a little beyond; else over the whole picture."""
    along, across = np.meshgrid(np.linspace(-0.1, 1.2, 14), np.linspace(-0.15, 0.15, 5))
    spots = [points[name] for name in (ON_AXIS[0], ON_AXIS[-1]) if name in points]
    if len(spots) < 2 or float(np.hypot(*(floats(spots[1]) - floats(spots[0])))) < 10:
        x, y = np.meshgrid(np.linspace(0, frame.width, 9), np.linspace(0, frame.height, 9))
        return np.column_stack([x.ravel(), y.ravel()])
    foot, way = floats(spots[0]), floats(spots[1]) - floats(spots[0])
    side = floats([-way[1], way[0]])
    return floats(foot + along.reshape(-1, 1) * way + across.reshape(-1, 1) * side)


def to_plane(matrix: Floats, x: float, y: float) -> tuple[float, float]:
    """Return where a pixel lies in the plane, mm; the same sum as static/js/projection.js."""
    a = matrix @ floats([x, y, 1.0])
    return float(a[0] / a[2]), float(a[1] / a[2])


def distance_mm(
    matrix: Floats, start: tuple[float, float], stop: tuple[float, float], other: Floats | None = None
) -> float:
    """Return the distance between two pixels, mm; where `other` is given it takes the second to the plane."""
    first, second = to_plane(matrix, *start), to_plane(matrix if other is None else other, *stop)
    return float(np.hypot(second[0] - first[0], second[1] - first[1]))


def ratio_to(matrices: Mapping[str, Floats], points: Points, lengths: Mapping[str, Measured]) -> float:
    """Return by what the distances of `matrices` must be multiplied to agree with `lengths`: the median."""
    ends = {name: LENGTHS[name] for name in lengths}
    ratios = [
        lengths[name].value / there
        for name, (a, b) in ends.items()
        if (there := distance_mm(matrices[a], points[a], points[b], matrices[b])) > 0
    ]
    return float(np.median(ratios)) if ratios else 1.0


def scaled(matrix: Floats, ratio: float) -> Floats:
    """Return the matrix whose distances are `ratio` times as large."""
    return floats(np.diag([ratio, ratio, 1.0]) @ matrix)


def agreeing(
    matrices: Mapping[str, Floats], points: Points, lengths: Mapping[str, Measured]
) -> dict[str, Floats]:
    """Return matrices scaled as a whole, then each shifted along the reed, so that they give `lengths`."""
    ratio = ratio_to(matrices, points, lengths)
    found = {name: scaled(matrix, ratio) for name, matrix in matrices.items()}
    at = {name: to_plane(found[name], *points[name])[0] for name in ON_AXIS if name in points}
    pairs = [(ends, lengths[name]) for name, ends in LENGTHS.items() if name in lengths and {*ends} <= {*at}]
    if not pairs:
        return found
    signs = [np.sign(at[b] - at[a]) for (a, b), _ in pairs]
    ways = [
        s * floats([(n == b) - (n == a) for n in at]) for s, ((a, b), _) in zip(signs, pairs, strict=True)
    ]
    lacking = [length.value - abs(at[b] - at[a]) for (a, b), length in pairs]
    shifts = np.linalg.lstsq(floats(ways), floats(lacking), rcond=None)[0]
    moved = {n: floats([[1, 0, s], [0, 1, 0], [0, 0, 1]]) @ found[n] for n, s in zip(at, shifts, strict=True)}
    return found | moved
