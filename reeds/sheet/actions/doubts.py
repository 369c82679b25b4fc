"""What a studio takes its own tools to be sure of; one transaction."""

from __future__ import annotations

from collections.abc import Mapping

from django.db import transaction
from django.utils import timezone

from reeds.numbers.words import Method
from reeds.sheet.models.doubt import OwnDoubt
from studio.models import Member


@transaction.atomic
def set_doubts(by: Member, doubts: Mapping[Method, float]) -> None:
    """Keep the studio's own standard uncertainties, mm; a way not named goes back to the usual one.

    Numbers that are kept already are not touched: each has the doubt it was kept with.
    """
    own = {way: u for way, u in doubts.items() if u != way.u_mm}
    OwnDoubt.objects.filter(studio=by.studio_id).exclude(method__in=own).delete()
    there = OwnDoubt.objects.of(by.studio_id)
    for way, u in own.items():
        if there.get(way) != u:
            changed = {"u_mm": u, "set_by": by, "set_at": timezone.now()}
            OwnDoubt.objects.update_or_create(studio_id=by.studio_id, method=way, defaults=changed)
