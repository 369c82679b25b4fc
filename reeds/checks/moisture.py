"""Thicknesses and openings that were measured dry: the sheet's limits are for soaked cane."""

from __future__ import annotations

from reeds.checks.comparing import remark
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import Finding
from reeds.checks.sheet import Sheet
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Moisture
from reeds.numbers.words import gettext_noop as _

KEY = "moisture"
NAME = _("measured dry")
SOURCE = _(
    "a reed maker's forum post: 0.01 to 0.04 mm thicker after soaking again; Akahoshi and Obataya (abstract)"
)

DRY = _(
    "%(name)s was measured dry; the sheet is for soaked cane, which is thicker. Soak it and measure again."
)
SWELLING = (
    "gouge",
    "opening_height",
    "opening_width",
    "opening_area",
    "thickness_tip_centre",
    "thickness_tip_corners",
    "thickness_heart",
    "thickness_back",
)


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return a remark for each quantity of the sheet that swells and was measured dry."""
    return [
        remark(KEY, QUANTITIES[key], DRY, SOURCE)
        for key in SWELLING
        if key in sheet.keys and key in facts.numbers and facts.numbers[key].moisture is Moisture.DRY
    ]
