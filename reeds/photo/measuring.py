"""From landmarks on a photo to lengths: the scale by card, ruler or ID-1 card, and what to keep of them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from reeds.numbers.late import Late
from reeds.numbers.measured import Measured
from reeds.numbers.words import gettext_noop
from reeds.photo.models.card import PrintedCard
from reeds.photo.models.measuring import PhotoMeasuring, ScaleKind
from reeds.photo.models.photo import Photo
from reeds.photo.models.tool import ToolReading
from reeds.photo.vision.arrays import Floats, floats
from reeds.photo.vision.camera import AxisCamera, Frame
from reeds.photo.vision.lengths import U_STATED_HEIGHT_MM, Axis, Clicks, Points
from reeds.photo.vision.plane import off_reed_share, uneven_mm, window_of
from reeds.photo.vision.projection import ratio_to, scaled, seen_homography
from reeds.photo.vision.record import MarksBeside
from reeds.photo.vision.reed_plane import ReedPlane
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.ruler import KnownLength

if TYPE_CHECKING:
    from reeds.photo.vision import card_view, scale
else:  # of pages only the one that measures needs them
    card_view, scale = (Late(f"reeds.photo.vision.{name}") for name in ("card_view", "scale"))

NO_CARD = gettext_noop("The card was not found on this photo: use a ruler or a bank card beside the reed.")
NO_BAR = gettext_noop(
    "Nobody has measured the bar of this card yet: a printer's usual 3 per cent is in the doubt, "
    "1.2 mm in 70. Measure it on the card's page."
)
WHICH_CARD = gettext_noop(
    "It is not said which card this is: a printer's usual 3 per cent is in the doubt, 1.2 mm in 70."
)


@dataclass(frozen=True)
class Given:
    """What the page sends: where the landmarks are and what the millimetres are to come from.

    `heights` are those of the reed's axis above the card at foot and tip, mm, or None for the usual ones.
    """

    points: Points
    scale: ScaleKind = ScaleKind.CARD
    card: PrintedCard | None = None
    beside: MarksBeside = field(default_factory=MarksBeside)
    heights: tuple[float, float] | None = None

    @property
    def axis(self) -> Axis:
        """The reed's axis above the card."""
        if self.heights is None:
            return Axis()
        return Axis(*(Measured(height, U_STATED_HEIGHT_MM) for height in self.heights))


@dataclass(frozen=True)
class PhotoLengths:
    """Lengths, the camera they came from, each landmark's matrix for the page, and remarks."""

    lengths: Mapping[str, Measured]
    camera: AxisCamera
    matrices: Mapping[str, Floats]
    warnings: tuple[str, ...] = ()


def result_of(photo: Photo, row: PhotoMeasuring, given: Given) -> PhotoLengths:
    """Return the lengths that the landmarks give; PhotoRefused with a sentence where they give none."""
    how = scale_of(photo, row, given)
    seen = how.solve(given.points, given.axis)
    left_alone = scale.u_left_alone(row.found.proposed, given.points) if given.scale == ScaleKind.CARD else {}
    lengths = how.lengths(seen, Clicks(given.points, scale.u_by_hand(seen, given.points) | left_alone))
    lengths = ToolReading.objects.filter(studio=photo.studio_id).widened(lengths)
    matrices = how.matrices(seen, given.points, lengths)
    remarks = (*_about_print(given), *scale.remarks(how, given.points))
    return PhotoLengths(lengths, seen.camera, matrices, remarks)


def scale_of(photo: Photo, row: PhotoMeasuring, given: Given) -> scale.PhotoScale:
    """Return the scale that was asked for; PhotoRefused where the photo does not have it."""
    frame, focal = Frame(photo.width or 1, photo.height or 1), photo.usual_focal
    if given.scale == ScaleKind.KNOWN:
        start, stop = map(floats, given.beside.points)
        return scale.RulerScale(KnownLength(given.beside.mm, start, stop), frame, focal)
    if given.scale == ScaleKind.ID1:
        return scale.Id1Scale(given.beside.points, frame, focal)
    markers = row.found.markers
    if markers is None:
        raise PhotoRefused(NO_CARD)
    settings = card_view.Settings(given.axis, (given.card or PrintedCard()).factor)
    return scale.CardScale(card_view.solve_card(markers, frame, settings, focal))


def _about_print(given: Given) -> tuple[str, ...]:
    """Return what there is to say of how true to size the card was printed."""
    if given.scale != ScaleKind.CARD:
        return ()
    if given.card is None:
        return (WHICH_CARD,)
    return (NO_BAR,) if given.card.bar_mm is None else ()


def plane_of(photo: Photo, row: PhotoMeasuring) -> ReedPlane | None:
    """Return the plane that a person measured in, else that of the card as the worker found it."""
    return measured_plane(photo, row) if row.measured_at else row.laid_plane


def measured_plane(photo: Photo, row: PhotoMeasuring) -> ReedPlane | None:
    """Return the plane that a person measured in, or None where no length of the photo was kept."""
    kept = row.kept
    lengths = {name: one for name, one in kept.lengths.items() if one.value > 0}
    if kept.camera is None or not lengths:
        return None
    frame = Frame(photo.width or 1, photo.height or 1)
    try:
        matrix = seen_homography(kept.camera.numbers, frame, kept.landmarks, kept.camera.heights)
    except ValueError:
        return None
    if row.scale == ScaleKind.KNOWN:
        matrix = scaled(matrix, ratio_to(dict.fromkeys(kept.landmarks, matrix), kept.landmarks, lengths))
    longest = max(lengths.values(), key=lambda one: one.value)
    camera = kept.camera
    return ReedPlane(
        matrix=matrix,
        share=longest.u / longest.value,
        off_reed=off_reed_share(camera.numbers, max(camera.heights)),
        uneven_mm=uneven_mm(camera.numbers, frame, kept.landmarks, camera.heights),
        reach=(0.0, longest.value),
        window=window_of(longest.value),
    )


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
