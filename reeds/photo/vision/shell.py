"""What the shell commands do, without the shell: options as text in, a report of plain JSON types out."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence

from reeds.numbers.measured import Measured
from reeds.numbers.words import gettext_noop
from reeds.photo.vision import opening
from reeds.photo.vision.arrays import floats
from reeds.photo.vision.camera import Frame
from reeds.photo.vision.card_view import CardView, Settings, grey, propose, view_card
from reeds.photo.vision.decode import read_picture
from reeds.photo.vision.gap import find_outline
from reeds.photo.vision.lengths import LANDMARKS, U_PRINT_FACTOR, U_STATED_HEIGHT_MM, Axis, Clicks, Points
from reeds.photo.vision.markers import MIRRORED, is_mirrored
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.report import landmarks_report, lengths_report, opening_report
from reeds.photo.vision.ruler import KnownLength
from reeds.photo.vision.scale import CardScale, Id1Scale, PhotoScale, RulerScale, lengths_by, remarks
from reeds.photo.vision.taken import believed_focal
from reeds.photo.vision.upright import UprightPicture

U_TIP_WIDTH_MM = 0.05
U_LEVEL_TIP_MM = 0.15
BAD_POINTS = gettext_noop(
    "The points must be JSON of landmark names, each null or two numbers within the picture: [x, y]."
)
BAD_HEIGHT = gettext_noop("The axis height is one or two numbers in mm from 0 to 20, as in 3.25 or 3.25,2.5.")
BAD_FACTOR = gettext_noop(
    "The printing factor is the bar's true length over 100 mm and lies between 0.5 and 2."
)
BAD_FOCAL = gettext_noop("The focal length for a 35 mm frame lies between 8 and 400 mm.")
NEED_POINTS = gettext_noop("Without the card the landmarks must be given: add --points.")


def read_points(text: str | None) -> Points | None:
    """Return landmarks from their JSON text, or None if there is none.

    Raises
    ------
    PhotoRefused
        If it is not JSON, names an unknown landmark, or a place is not two finite numbers.
    """
    if text is None:
        return None
    try:
        given = json.loads(text)
        points = {
            str(n): (float(p[0]), float(p[1])) for n, p in given.items() if p is not None and len(p) == 2
        }
        complete = len(points) == sum(p is not None for p in given.values())
    except (ValueError, TypeError, AttributeError, KeyError, IndexError) as error:
        raise PhotoRefused(BAD_POINTS) from error
    finite = all(math.isfinite(v) for p in points.values() for v in p)
    if not (complete and finite and set(given) <= set(LANDMARKS)):
        raise PhotoRefused(BAD_POINTS)
    return points


def read_axis(text: str | None) -> Axis:
    """Return the axis from "FOOT" or "FOOT,TIP" in mm; the usual one where nothing is said.

    A stated height carries 0.05 mm. One number alone says that the reed lies level; the tip's then carries
    0.15 mm, since a reed tips forward more often than one sees.
    """
    if text is None:
        return Axis()
    try:
        numbers = [float(part) for part in text.split(",")]
    except ValueError as error:
        raise PhotoRefused(BAD_HEIGHT) from error
    if len(numbers) not in (1, 2) or not all(0 <= n <= 20 for n in numbers):
        raise PhotoRefused(BAD_HEIGHT)
    foot = Measured(numbers[0], U_STATED_HEIGHT_MM)
    alone = len(numbers) == 1
    return Axis(
        foot, Measured(numbers[0], U_LEVEL_TIP_MM) if alone else Measured(numbers[1], U_STATED_HEIGHT_MM)
    )


def read_factor(value: float) -> Measured:
    """Return a printing factor with its doubt; refuses one that no printer has."""
    if not 0.5 <= value <= 2:
        raise PhotoRefused(BAD_FACTOR)
    return Measured(value, U_PRINT_FACTOR)


def read_focal(value: float | None) -> float | None:
    """Return a stated focal length, mm; refuses one that no camera has."""
    if value is not None and believed_focal(value) is None:
        raise PhotoRefused(BAD_FOCAL)
    return value


def measure_photo(
    data: bytes,
    points: Points | None,
    settings: Settings,
    *,
    known: Sequence[float] | None = None,
    id1: Sequence[float] | None = None,
) -> dict[str, object]:
    """Return the report of one photo, as `manage.py measure_photo` prints it.

    Raises
    ------
    PhotoRefused
        Whatever makes the photo unfit, in one sentence.
    """
    picture = read_picture(data)
    _refuse_outside(points, picture)
    scale: PhotoScale
    if known is None and id1 is None:
        view = view_card(picture, settings)
        scale, about = CardScale(view), _about_card(view)
        clicks = propose(picture, view) if points is None else Clicks(points)
    elif points is None:
        raise PhotoRefused(NEED_POINTS)
    else:
        scale, about = _beside(picture, settings, known, id1)
        clicks = Clicks(points)
    return {
        "scale": about,
        "landmarks": landmarks_report(clicks.points),
        "lengths": lengths_report(lengths_by(scale, clicks, settings.axis)),
        "warnings": list(remarks(scale, clicks.points)),
    }


def measure_opening(data: bytes, tip_width: float | None) -> dict[str, object]:
    """Return the report of an opening, as `manage.py measure_opening` prints it.

    A stated tip width carries 0.05 mm (a caliper; common practice, from memory).

    Raises
    ------
    PhotoRefused
        A mirrored picture, as far as a marker in it can tell; no gap to be seen; a width that no tip has.
    """
    picture = read_picture(data)
    if is_mirrored(grey(picture)):
        raise PhotoRefused(MIRRORED)
    width = None if tip_width is None else Measured(tip_width, U_TIP_WIDTH_MM)
    return opening_report(opening.figures(find_outline(picture), width))


def _refuse_outside(points: Points | None, picture: UprightPicture) -> None:
    width, height = picture.size
    if any(not (0 <= x <= width and 0 <= y <= height) for x, y in (points or {}).values()):
        raise PhotoRefused(BAD_POINTS)


def _about_card(view: CardView) -> dict[str, object]:
    solved = view.solved
    return {
        "source": "card",
        "markers": len(view.found.ids),
        "corner_noise_px": round(solved.noise_px, 4),
        "focal_px": round(math.exp(float(solved.numbers[0])), 2),
        "print_factor": view.factor.value,
    }


def _beside(
    picture: UprightPicture, settings: Settings, known: Sequence[float] | None, id1: Sequence[float] | None
) -> tuple[PhotoScale, dict[str, object]]:
    """Return the scale of what lies beside the reed, and what the report says of it."""
    frame, focal = Frame(*picture.size), settings.focal_of(picture)
    if known is not None:
        length = KnownLength(known[0], floats(known[1:3]), floats(known[3:5]))
        return RulerScale(length, frame, focal), {"source": "known length", "mm": known[0]}
    x_and_y = list(id1 or ())
    corners = tuple(zip(x_and_y[::2], x_and_y[1::2], strict=True))
    return Id1Scale(corners, frame, focal), {"source": "id1"}
