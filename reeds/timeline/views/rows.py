"""What a reed's pages begin with: its row, and what its stage asks."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import Http404

from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Stage
from reeds.reed.models.reed import Reed
from studio.access import MemberRequest, Seer
from studio.prepared import prepared


def reed_for(request: MemberRequest, pk: int) -> Reed:
    """Return the reed with what its page shows, or answer 404."""
    found = _reed(request.member, pk)
    if not found:
        raise Http404
    return found[0]


@prepared
def _reed(member: Seer, pk: int) -> QuerySet[Reed]:
    rows = Reed.objects.visible_to(member).filter(pk=pk)
    return rows.select_related("owner__person", "version__pattern", "cane")


def asked_of(reed: Reed) -> list[Quantity]:
    """What a reed's stage asks by its sheet, and what may be noted at the bench."""
    sheet, stage = reed.version.sheet, Stage(reed.stage)
    return [*sheet.known.asked_at(stage, sheet.keys), *sheet.known.noted_at(stage, sheet.style)]
