"""What a reed's pages begin with: its row, and what its stage asks."""

from __future__ import annotations

from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Stage
from reeds.reed.models.reed import Reed
from studio.access import MemberRequest, fetch


def reed_for(request: MemberRequest, pk: int) -> Reed:
    """Return the reed with what its page shows, or answer 404."""
    rows = Reed.objects.visible_to(request.member)
    return fetch(rows.select_related("owner__person", "version__pattern", "cane"), request.member, pk)


def asked_of(reed: Reed) -> list[Quantity]:
    """What a reed's stage asks by its sheet, and what may be noted at the bench."""
    sheet, stage = reed.version.sheet, Stage(reed.stage)
    return [*sheet.known.asked_at(stage, sheet.keys), *sheet.known.noted_at(stage, sheet.style)]
