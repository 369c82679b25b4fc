"""The few points by which a person corrects the outline of the opening."""

from __future__ import annotations

from collections.abc import Mapping

from reeds.numbers.late import np
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.lengths import Points
from reeds.photo.vision.opening import CORNERS, EDGES, KEPT, Outline

CONTROLS = 9
STEP = (KEPT - 1) // (CONTROLS - 1)
NAMES = (*CORNERS, *(f"{edge}_{i}" for edge in EDGES for i in range(CONTROLS)))
# how finely an edge and a corner can be set by hand, as a share of the blades' width: 0.03 and 0.07 mm
# of 7 mm; own choice, no source
U_HAND_SHARE = 0.004
U_HAND_CORNER_SHARE = 0.01


def controls(outline: Outline) -> dict[str, tuple[float, float]]:
    """Return the points a person drags, px by name (see `NAMES`); the outline has `KEPT` points an edge."""
    spots = {name: getattr(outline, name) for name in CORNERS}
    for edge in EDGES:
        spots |= {f"{edge}_{i}": getattr(outline, edge)[i * STEP] for i in range(CONTROLS)}
    return {name: (float(p[0]), float(p[1])) for name, p in spots.items()}


def corrected(outline: Outline, points: Points) -> Outline:
    """Return the outline bent so that it goes through the dragged points.

    Between two points the shift runs linearly from the one's to the other's, so that what was found
    between them keeps its shape. Where nothing was moved the outline and its doubt stay as they are.

    Parameters
    ----------
    outline : Outline
        With `KEPT` points an edge.
    points : mapping of name to (x, y)
        px; names of `NAMES`. One that is missing stays where it was.
    """
    before = controls(outline)
    moved = {n: floats(points[n]) - floats(before[n]) for n in NAMES if n in points}
    moved = {n: shift for n, shift in moved.items() if float(np.hypot(*shift)) > 0.05}
    left, right = (getattr(outline, name) + moved.get(name, 0.0) for name in CORNERS)
    width = float(np.linalg.norm(right - left))
    upper, lower = (getattr(outline, edge) + _shifts(moved, edge) for edge in EDGES)
    by_edge = any(name.startswith(EDGES) for name in moved)
    by_corner = bool(set(CORNERS) & set(moved))
    u_px = max(outline.u_px, U_HAND_SHARE * width) if by_edge else outline.u_px
    u_corner = max(outline.u_corner_px, U_HAND_CORNER_SHARE * width) if by_corner else outline.u_corner_px
    return Outline(left, right, upper, lower, u_px, u_corner)


def _shifts(moved: Mapping[str, Floats], edge: str) -> Floats:
    at = np.arange(CONTROLS) * STEP
    few = floats([moved.get(f"{edge}_{i}", np.zeros(2)) for i in range(CONTROLS)])
    every = np.arange(KEPT)
    return np.column_stack([np.interp(every, at, few[:, axis]) for axis in (0, 1)])


def turned(outline: Outline) -> Outline:
    """Return the outline as it is with the picture turned by half: marked blade down becomes up."""
    return Outline(
        -outline.right,
        -outline.left,
        -outline.lower[::-1],
        -outline.upper[::-1],
        u_px=outline.u_px,
        u_corner_px=outline.u_corner_px,
    )


def by_hand(width: int, height: int) -> Outline:
    """Return a lens in the middle of the picture to begin from where no opening was found, px."""
    along = np.linspace(-1, 1, KEPT)
    half = 0.3 * width
    rise = 0.12 * half * (1 - along**2)
    x = width / 2 + half * along
    upper, lower = (np.column_stack([x, height / 2 + way * rise]) for way in (-1, 1))
    left, right = (floats([width / 2 + way * half, height / 2]) for way in (-1, 1))
    return Outline(left, right, upper, lower, 2 * U_HAND_SHARE * half, 2 * U_HAND_CORNER_SHARE * half)
