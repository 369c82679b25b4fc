"""The opening on its photo: the outline as it stands, its figures, and what they become as numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from reeds.numbers.measured import Measured
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method, Moisture, gettext_noop
from reeds.photo.forms.opening import DOWN, UNKNOWN, OpeningForm
from reeds.photo.models.measuring import OPENING, PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.vision.opening import EDGES, OpeningFigures, Outline, figures
from reeds.photo.vision.outline import CONTROLS, STEP, by_hand, controls, corrected, turned
from reeds.reed.actions import Entry
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from reeds.templatetags.quantities import with_doubt
from reeds.wording import in_words
from studio.errors import NotPossible

NAMES = {
    "left": gettext_noop("left corner of the blades"),
    "right": gettext_noop("right corner of the blades"),
    "upper": gettext_noop("upper edge, point %(n)s"),
    "lower": gettext_noop("lower edge, point %(n)s"),
}
# figure, quantity it is kept as, what it was computed from
KEPT_AS = (
    ("height_mm", "opening_height", "tip_width"),
    ("width_mm", "opening_width", "tip_width"),
    ("area_mm2", "opening_area", "tip_width"),
    ("unevenness", "unevenness", ""),
)
RATIOS = (
    ("height_ratio", gettext_noop("height over width")),
    ("left_height_ratio", gettext_noop("mean height of the left half, over width")),
    ("right_height_ratio", gettext_noop("mean height of the right half, over width")),
)


@dataclass(frozen=True)
class Opening:
    """A photo on the page of the opening."""

    photo: Photo
    row: PhotoMeasuring
    outline: Outline
    is_found: bool
    tip_width: Measured | None


def opening_of(photo: Photo, row: PhotoMeasuring) -> Opening:
    """Gather what the page needs; without an outline found, a lens to begin from."""
    found = row.found_outline if row.looked_for == OPENING else None
    outline = found or by_hand(photo.width or 1, photo.height or 1)
    return Opening(photo, row, outline, found is not None, _tip_width(photo.reed))


def _tip_width(reed: Reed) -> Measured | None:
    rows = reed.measurements.filter(quantity="tip_width", value__isnull=False)
    newest: Measurement | None = rows.order_by("-at", "-pk").first()
    return newest.measured if newest else None


def computed(opening: Opening, form: OpeningForm) -> OpeningFigures:
    """Return the figures of what was sent, as seen marked blade up; PhotoRefused where there are none."""
    outline = corrected(opening.outline, form.cleaned_data["points"])
    if form.cleaned_data["marked"] == DOWN:
        outline = turned(outline)
    return figures(outline, form.width)


def script_data(opening: Opening, addresses: dict[str, str]) -> dict[str, Any]:
    """Return what the page's script starts from, as plain JSON types."""
    spots, kept = controls(opening.outline), opening.row.outline_set.points
    return {
        **addresses,
        "width": opening.photo.width,
        "height": opening.photo.height,
        "points": {
            key: {"name": name_of(key), "at": kept.get(key, list(spot))} for key, spot in spots.items()
        },
        "found": {key: list(spot) for key, spot in spots.items()},
        "edges": {edge: getattr(opening.outline, edge).tolist() for edge in EDGES},
        "step": STEP,
        "controls": CONTROLS,
    }


def name_of(key: str) -> str:
    """Return the name of a point of the outline in the reader's language."""
    part, _line, number = key.partition("_")
    return _(NAMES[part]) % {"n": int(number) + 1} if number else _(NAMES[part])


def shown(found: OpeningFigures, form: OpeningForm) -> dict[str, Any]:
    """Return the figures as text for the page; those that need the tip's width are null without it."""
    sides_known = form.cleaned_data["marked"] != UNKNOWN
    mm: dict[str, str | None] = {
        key: with_doubt(getattr(found, name), key) or None for name, key, _of in KEPT_AS
    }
    ratios = {name: in_words(getattr(found, name)) for name, _label in RATIOS}
    if not sides_known:
        mm["unevenness"] = None
    return {"figures": mm | ratios}


def entries_of(opening: Opening, form: OpeningForm) -> list[Entry]:
    """Return the numbers that what was sent gives; NotPossible where one of them cannot be right."""
    found, entries = computed(opening, form), []
    for name, key, source in KEPT_AS:
        measured = getattr(found, name)
        of = QUANTITIES[key]
        if measured is None or (key == "unevenness" and form.cleaned_data["marked"] == UNKNOWN):
            continue
        if not of.low <= measured.value <= of.high:
            raise NotPossible(
                _("The %(name)s cannot be right: look at the outline and the tip's width again.")
                % {"name": _(of.name)}
            )
        given = {"value": round(measured.value, 4), "u": round(measured.u, 4), "computed_from": source}
        entries.append(Entry(of, Method.PHOTO, moisture=Moisture.WET, photo=opening.photo, **given))
    return entries
