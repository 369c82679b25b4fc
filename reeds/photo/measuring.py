"""From landmarks on a photo to lengths: the scale by card, ruler or ID-1 card, and what to keep of them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from reeds.numbers.measured import Measured, u_of_limits
from reeds.numbers.words import gettext_noop
from reeds.photo.models.card import PrintedCard
from reeds.photo.models.measuring import PhotoMeasuring, Scale
from reeds.photo.models.photo import Photo
from reeds.photo.tasks.look import usual_focal
from reeds.photo.vision import reference
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.camera import SIZE, Frame, eye
from reeds.photo.vision.card import MarkersFound
from reeds.photo.vision.lengths import (
    LENGTHS,
    U_STATED_HEIGHT,
    Axis,
    Clicks,
    Points,
    measure,
    px_per_mm,
    scatter,
)
from reeds.photo.vision.measure import NO_FOCAL, CardView, Settings, refuse_off_card, solve_card
from reeds.photo.vision.projection import axis_homography, distance_mm
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.solve import Solved

NO_CARD = gettext_noop("The card was not found on this photo: use a ruler or a bank card beside the reed.")
NO_BAR = gettext_noop("Nobody has measured the bar of this card yet: half a per cent is in the doubt.")
WHICH_CARD = gettext_noop("It is not said which card this is: half a per cent is in the doubt.")
# how sharply each place can be set by hand, mm: own choice, no source; tip and corners are edges against
# the card, the rest are changes of colour on round or rough things
U_SET_MM = {"tip": 0.05, "tip_left": 0.07, "tip_right": 0.07, "staple_foot": 0.1, "thread_end": 0.12}
U_SET_OTHERS_MM = 0.2


@dataclass(frozen=True)
class Given:
    """What the page sends: where the landmarks are and what the millimetres are to come from.

    `reference` holds the ruler's two ends or the ID-1 card's four corners, px; `heights` foot and tip of
    the reed's axis above the card, mm, or None for the usual ones.
    """

    points: Points
    scale: Scale = Scale.CARD
    card: PrintedCard | None = None
    known_mm: float = 0.0
    reference: tuple[tuple[float, float], ...] = ()
    heights: tuple[float, float] | None = None

    @property
    def axis(self) -> Axis:
        """The reed's axis above the card."""
        if self.heights is None:
            return Axis()
        return Axis(*(Measured(height, U_STATED_HEIGHT) for height in self.heights))


@dataclass(frozen=True)
class Result:
    """Lengths, the camera they came from, the matrix for the page, and remarks."""

    lengths: Mapping[str, Measured]
    numbers: Floats
    matrix: Floats
    heights: tuple[float, float]
    warnings: tuple[str, ...] = field(default=())


def result_of(photo: Photo, row: PhotoMeasuring, given: Given) -> Result:
    """Return the lengths that the landmarks give; PhotoRefused with a sentence where they give none."""
    frame = Frame(photo.width or 1, photo.height or 1)
    focal = usual_focal(photo)
    if given.scale == Scale.KNOWN:
        return _by_ruler(frame, focal, given)
    if given.scale == Scale.ID1:
        return _by_id1(frame, focal, given)
    return _by_card(row, frame, focal, given)


def _by_card(row: PhotoMeasuring, frame: Frame, focal: float | None, given: Given) -> Result:
    if row.markers is None:
        raise PhotoRefused(NO_CARD)
    found = MarkersFound(tuple(row.markers["ids"]), floats(row.markers["pixels"]))
    factor = PrintedCard().factor if given.card is None else given.card.factor
    view = solve_card(found, frame, Settings(given.axis, factor), focal)
    refuse_off_card(view, given.points)
    clicks = Clicks(given.points, _doubts(view, row, given))
    lengths = measure(view.solved, clicks, given.axis, factor) if given.points else {}
    unsure = WHICH_CARD if given.card is None else NO_BAR if given.card.bar_mm is None else ""
    said = tuple(sentence for sentence in (unsure, *view.warnings) if sentence)
    return _result(view.solved.numbers, frame, given, lengths, said)


def _doubts(view: CardView, row: PhotoMeasuring, given: Given) -> dict[str, float]:
    """Return u of each landmark, px: the proposal's own where it was left alone, else that of a hand."""
    if not given.points:
        return {}
    noise = scatter(view.solved, given.points, given.axis).noise_px()
    scale = px_per_mm(view.solved, given.points, given.axis)
    return {
        name: _proposed_u(row, name, place) or _set_u(name, noise, scale)
        for name, place in given.points.items()
    }


def _set_u(name: str, noise: float, scale: float) -> float:
    return float(np.hypot(noise, U_SET_MM.get(name, U_SET_OTHERS_MM) * scale))


def _proposed_u(row: PhotoMeasuring, name: str, place: tuple[float, float]) -> float | None:
    proposed = row.proposed.get(name)
    if proposed is None or np.hypot(proposed[0] - place[0], proposed[1] - place[1]) > 0.05:
        return None
    return float(proposed[2])


def _by_ruler(frame: Frame, focal: float | None, given: Given) -> Result:
    known = reference.KnownLength(given.known_mm, *(floats(p) for p in given.reference))
    numbers = reference.level_camera(known, frame, focal)
    flat = Solved(numbers, np.zeros((SIZE, SIZE)), frame, 0.0, 0.0, 0)
    clicks = Clicks(given.points, _set_by_hand(flat, given))
    lengths = reference.lengths_by_known(known, clicks, frame, focal, given.axis) if given.points else {}
    said = (reference.NOT_LEVEL, *(() if focal else (NO_FOCAL,)))
    result = _result(numbers, frame, given, lengths, said)
    return replace(result, matrix=_brought_to(result.matrix, given.points, lengths))


def _set_by_hand(solved: Solved, given: Given) -> dict[str, float]:
    if not given.points:
        return {}
    noise = scatter(solved, given.points, given.axis).noise_px()
    scale = px_per_mm(solved, given.points, given.axis)
    return {name: _set_u(name, noise, scale) for name in given.points}


def _brought_to(matrix: Floats, points: Points, lengths: Mapping[str, Measured]) -> Floats:
    """Return the matrix scaled so that it says what the median over all possible tilts says."""
    ratios = [
        measured.value / there
        for name, measured in lengths.items()
        if (there := distance_mm(matrix, points[LENGTHS[name][0]], points[LENGTHS[name][1]])) > 0
    ]
    if not ratios:
        return matrix
    return floats(np.diag([np.median(ratios), np.median(ratios), 1.0]) @ matrix)


def _by_id1(frame: Frame, focal: float | None, given: Given) -> Result:
    corners = [list(corner) for corner in given.reference]
    solved, noise = reference.camera_by_id1(corners, Clicks(given.points), frame, focal, given.axis)
    low = Axis(given.axis.foot - reference.ID1_LIFT, given.axis.tip - reference.ID1_LIFT)
    scale = px_per_mm(solved, given.points, low) if given.points else 1.0
    doubts = {name: _set_u(name, noise, scale) for name in given.points}
    share = Measured(1.0, reference.ID1_U_SHARE)
    lengths = measure(solved, Clicks(given.points, doubts), low, share) if given.points else {}
    lowered = replace(given, heights=(low.foot.value, low.tip.value))
    return _result(solved.numbers, frame, lowered, lengths, () if focal else (NO_FOCAL,))


def _result(
    numbers: Floats, frame: Frame, given: Given, lengths: Mapping[str, Measured], said: tuple[str, ...]
) -> Result:
    heights = (given.axis.foot.value, given.axis.tip.value)
    return Result(lengths, numbers, axis_homography(numbers, frame, given.points, heights), heights, said)


@dataclass(frozen=True)
class Plane:
    """A measured photo's plane of the reed's axis, by which anything drawn along the reed has millimetres.

    Attributes
    ----------
    matrix : (3, 3) array
        Pixels of the upright picture to mm along and across the axis from the foot.
    share : float
        Standard uncertainty of a length along the reed, as a share of it: that of the longest length kept.
    off_reed : float
        The further share where an end does not lie on the reed: anywhere between card and axis.
    reach : (from, to)
        How far the reed goes along the axis, mm.
    """

    matrix: Floats
    share: float
    off_reed: float
    reach: tuple[float, float]


def plane_of(photo: Photo, row: PhotoMeasuring) -> Plane | None:
    """Return the plane that a person measured in, or None where no length of the photo was kept."""
    lengths = {name: Measured(*both) for name, both in row.lengths.items() if both[0] > 0}
    if row.camera is None or not lengths:
        return None
    numbers, heights = floats(row.camera["numbers"]), row.camera["heights"]
    points = {name: (place[0], place[1]) for name, place in row.landmarks.items()}
    frame = Frame(photo.width or 1, photo.height or 1)
    try:
        matrix = axis_homography(numbers, frame, points, (heights[0], heights[1]))
    except ValueError:
        return None
    if row.scale == Scale.KNOWN:
        matrix = _brought_to(matrix, points, lengths)
    longest = max(lengths.values(), key=lambda one: one.value)
    off = u_of_limits(max(heights)) / abs(float(eye(numbers)[2]))
    return Plane(matrix, longest.u / longest.value, off, (0.0, longest.value))


def as_json(lengths: Mapping[str, Measured]) -> dict[str, list[float]]:
    """Return lengths as they are stored: [value, u] in mm by name."""
    return {name: [round(m.value, 4), round(m.u, 4)] for name, m in lengths.items()}


def points_from(text: str, names: frozenset[str], size: tuple[int, int]) -> dict[str, tuple[float, float]]:
    """Read the page's points: JSON of name to [x, y] within the picture, or null; else ValueError."""
    given = json.loads(text)
    if not isinstance(given, dict) or not set(given) <= names:
        raise ValueError("These are not the photo's points.")
    return {name: _place(place, size) for name, place in given.items() if place is not None}


def _place(place: object, size: tuple[int, int]) -> tuple[float, float]:
    if not (isinstance(place, list) and len(place) == 2 and all(type(v) in (int, float) for v in place)):
        raise ValueError("A place is two numbers.")
    x, y = float(place[0]), float(place[1])
    if not (0 <= x <= size[0] and 0 <= y <= size[1]):  # also refuses what is not finite
        raise ValueError("A place lies outside the picture.")
    return x, y
