"""All that the material and its measuring take from the project, by name, in this one place."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from typing import Any

import numpy as np

from reeds.checks.print_scale import U_PHOTO_MM, common_factor
from reeds.numbers.measured import Measured
from reeds.photo import printing
from reeds.photo.vision import card
from reeds.photo.vision.camera import Frame
from reeds.photo.vision.card_view import CardView, Settings, propose, view_card
from reeds.photo.vision.decode import read_picture
from reeds.photo.vision.gap import find_outline
from reeds.photo.vision.lengths import U_PRINT_FACTOR, Axis, Clicks
from reeds.photo.vision.opening import OpeningFigures, figures
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.ruler import NOT_BESIDE, KnownLength
from reeds.photo.vision.scale import CardScale, Id1Scale, RulerScale, lengths_by, remarks
from reeds.photo.vision.shell import measure_photo

U_CALIPER_MM = 0.05
Points = Mapping[str, tuple[float, float]]
Refused = PhotoRefused
FOOT_MM = (card.FOOT_X_MM, card.AXIS_Y_MM)
MARKERS = {number: card.marker_corners_mm(number) for number in card.MARKER_PLACES_MM}


@functools.cache
def card_bitmap(number: int = 1, dpi: int = 300) -> bytes:
    """Return the printed card as PNG, exactly its own size."""
    return printing.png(number, dpi)


def _settings(factor: float | None) -> Settings:
    return Settings(Axis(), None if factor is None else Measured(factor, U_PRINT_FACTOR))


@functools.lru_cache(maxsize=2)
def _view(data: bytes, factor: float | None) -> CardView:
    return view_card(read_picture(data), _settings(factor))


@functools.lru_cache(maxsize=2)
def find_points(data: bytes, factor: float | None) -> Clicks:
    """Return the landmarks that the project proposes in a photo of the card."""
    return propose(read_picture(data), _view(data, factor))


def lengths(data: bytes, points: Points | None, factor: float | None) -> dict[str, Measured]:
    """Return the lengths of a reed on the card, by given points or by those that the project proposes."""
    view = _view(data, factor)
    clicks = find_points(data, factor) if points is None else Clicks(points)
    return lengths_by(CardScale(view), clicks, Axis())


def print_suspected(found: Mapping[str, Measured], by_hand: Mapping[str, float]) -> bool:
    """Tell whether a photo's lengths are said to be off by one factor from those by caliper, mm."""
    u_mm = float(np.hypot(U_PHOTO_MM, U_CALIPER_MM))
    both = ("tie_length", "foot_to_thread_end")
    ratios = [Measured(found[name].value / by_hand[name], u_mm / by_hand[name]) for name in both]
    return common_factor(ratios) is not None


def lengths_beside(
    size: tuple[int, int], focal_35mm: float | None, points: Points, beside: Mapping[str, Any]
) -> dict[str, Measured]:
    """Return the lengths by what lies beside the reed: `known` (mm and two pixels) or `id1` (four).

    Of the picture only its size and what its file says of the lens is needed. A ruler of which the page
    says that it does not lie beside the reed, and asks for the card, is refused.
    """
    frame, clicks = Frame(*size), Clicks(points)
    if "id1" in beside:
        corners = tuple((x, y) for x, y in beside["id1"])
        return lengths_by(Id1Scale(corners, frame, focal_35mm), clicks, Axis())
    ruler = RulerScale(KnownLength(*beside["known"]), frame, focal_35mm)
    if NOT_BESIDE in remarks(ruler, points):
        raise Refused(NOT_BESIDE)
    return lengths_by(ruler, clicks, Axis())


def sentence_of(data: bytes) -> str:
    """Return the sentence with which a photo is turned down, or nothing where it is measured."""
    try:
        measure_photo(data, None, _settings(1.0))
    except PhotoRefused as refusal:
        return str(refusal)
    return ""


def opening(data: bytes, tip_width: float) -> OpeningFigures:
    """Return an opening's figures; the tip's width is known exactly."""
    return figures(find_outline(read_picture(data)), Measured(tip_width, 0.0))


__all__ = ["FOOT_MM", "MARKERS", "Measured", "Refused", "card_bitmap", "find_points", "lengths"]
