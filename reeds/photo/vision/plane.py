"""The plane along a reed by which what is drawn on its photo has millimetres: clicked, or by the card."""

from __future__ import annotations

from reeds.numbers.late import np
from reeds.numbers.measured import Measured, u_of_limits
from reeds.photo.vision import card
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.camera import Frame, Solved, eye, project
from reeds.photo.vision.lengths import (
    ENDS,
    OVER_AXIS,
    USUAL_HEIGHT_MM,
    USUAL_REED_MM,
    USUAL_TIP_HEIGHT_MM,
    Axis,
    Clicks,
    Points,
    measure,
    reed_axis,
)
from reeds.photo.vision.projection import seen_homography, to_plane
from reeds.photo.vision.reed_plane import ReedPlane

# what is shown of a reed that was measured: so much beyond its ends, and to both sides of its axis, mm
AROUND_MM, HALF_MM = 4.0, 11.0
# how high above the card one sees a usual reed's foot and tip, mm, and its doubt where nobody has looked
SURFACE_MM = tuple(
    end.value + OVER_AXIS[name]
    for name, end in zip(ENDS, (USUAL_HEIGHT_MM, USUAL_TIP_HEIGHT_MM), strict=True)
)
# the thread's end, a reed's back and its edges stand up to so much off the straight line from foot to tip:
# limits, by the heights in `lengths.OVER_AXIS_MM`
U_SURFACE_MM = u_of_limits(0.8)
U_UNSEEN_MM = u_of_limits((SURFACE_MM[0] - SURFACE_MM[1]) / 2)


def window_of(length_mm: float) -> tuple[float, float, float, float]:
    """Return the part of the plane that a reed takes, mm from its foot: left, top, right, bottom."""
    return -AROUND_MM, -HALF_MM, length_mm + AROUND_MM, HALF_MM


def off_reed_share(numbers: Floats, highest_mm: float) -> float:
    """Return the doubt, as a share, of a length anywhere between the card and so many mm above it."""
    return u_of_limits(highest_mm) / abs(float(eye(numbers)[2]))


def uneven_mm(
    numbers: Floats, frame: Frame, points: Points, heights: tuple[float, float], u_mm: float = U_SURFACE_MM
) -> float:
    """Return the doubt of a length whose ends may lie off the plane and are seen askew, mm.

    numbers, frame, points, heights     as `lengths.reed_axis` takes them
    u_mm                                standard uncertainty of how high one end lies over the plane
    """
    axis = reed_axis(numbers, frame, points, heights)
    sight = eye(numbers) - axis.origin - USUAL_REED_MM / 2 * axis.along
    askew = float(np.hypot(sight[0], sight[1]) / abs(sight[2]))
    return float(np.sqrt(2)) * u_mm * askew


def card_plane(solved: Solved, factor: Measured, proposed: Clicks) -> ReedPlane:
    """Return the plane of a reed that nobody measured yet: by the card and a reed's usual height.

    Parameters
    ----------
    solved : Solved
        The camera, found on the card as `factor` has it printed.
    factor : Measured
        True over nominal length of the print, with a printer's usual doubt where nobody measured it.
    proposed : Clicks
        The landmarks that were sure; without foot and tip a usual reed on the card's own place stands in.

    Returns
    -------
    ReedPlane
        Its doubt holds the print, the camera, the usual height, and that nobody has said where foot and tip
        are: each end's surface may lie half the fall between them higher or lower (limits: u = a / sqrt(3),
        JCGM 100:2008, 4.3.7); where they were not even found, the plane lies level between the two.
    """
    is_sure = {*ENDS} <= {*proposed.points}
    axis = _usual_axis() if is_sure else _level_axis()
    ends = _ends_of(proposed) if is_sure else _usual_ends(solved, factor, axis)
    length = measure(solved, ends, axis, factor)["tie_length"]
    numbers, heights = solved.numbers, (axis.foot.value, axis.tip.value)
    matrix = seen_homography(numbers, solved.frame, ends.points, heights)
    u_over = U_SURFACE_MM if is_sure else float(np.hypot(U_SURFACE_MM, U_UNSEEN_MM))
    return ReedPlane(
        matrix=matrix,
        share=length.u / length.value,
        off_reed=off_reed_share(numbers, SURFACE_MM[0]),
        uneven_mm=uneven_mm(numbers, solved.frame, ends.points, heights, u_over),
        reach=(0.0, length.value),
        window=_field_seen(solved, factor, matrix),
        clicked=False,
    )


def _usual_axis() -> Axis:
    """The usual axis, with what nobody has looked at in its doubt."""
    usual = Axis()
    return Axis(
        *(Measured(end.value, float(np.hypot(end.u, U_UNSEEN_MM))) for end in (usual.foot, usual.tip))
    )


def _level_axis() -> Axis:
    """The axis below a level surface as high as foot and tip are in the mean; twice as doubtful."""
    middle = sum(SURFACE_MM) / 2
    return Axis(*(Measured(middle - OVER_AXIS[name], 2 * U_UNSEEN_MM) for name in ENDS))


def _ends_of(proposed: Clicks) -> Clicks:
    return Clicks(
        {name: proposed.points[name] for name in ENDS}, {name: proposed.u_px[name] for name in ENDS}
    )


def _usual_ends(solved: Solved, factor: Measured, axis: Axis) -> Clicks:
    """Foot and tip of a usual reed on the card's own place for it; where they are is in no doubt."""
    x, y = card.FOOT_X_MM * factor.value, card.AXIS_Y_MM * factor.value
    ends = zip((0.0, USUAL_REED_MM), (axis.foot.value, axis.tip.value), ENDS, strict=True)
    places = floats([[x + along, y, -high - OVER_AXIS[name]] for along, high, name in ends])
    seen = project(solved.numbers, solved.frame, places)
    points = {name: (float(x), float(y)) for name, (x, y) in zip(ENDS, seen, strict=True)}
    return Clicks(points, dict.fromkeys(ENDS, 0.0))


def _field_seen(solved: Solved, factor: Measured, matrix: Floats) -> tuple[float, float, float, float]:
    """Return the part of the plane behind which the card's blue field lies, mm: left, top, right, bottom."""
    left, top, right, bottom = (edge * factor.value for edge in card.FIELD_MM)
    corners = floats([[x, y, 0.0] for x in (left, right) for y in (top, bottom)])
    seen = project(solved.numbers, solved.frame, corners)
    places = floats([to_plane(matrix, float(x), float(y)) for x, y in seen])
    (x0, y0), (x1, y1) = places.min(axis=0).tolist(), places.max(axis=0).tolist()
    return x0, y0, x1, y1
