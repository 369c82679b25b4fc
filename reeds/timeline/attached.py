"""What was photographed and recorded of a reed that one sees: shown, or erased since and told of."""

from __future__ import annotations

from django.db.models import QuerySet

from reeds.photo.models.photo import Photo
from reeds.take.models import Take
from studio.access import Seer
from studio.prepared import prepared


@prepared
def photographed_of(member: Seer, reed: int) -> QuerySet[Photo]:
    """Find its photos, the first sent first."""
    rows = Photo.objects.filter(studio=member.studio_id, reed=reed).counted().order_by("sent_at", "pk")
    return rows.select_related(None).select_related("by__person")


@prepared
def recorded_of(member: Seer, reed: int) -> QuerySet[Take]:
    """Find its recordings, the first played first."""
    rows = Take.objects.filter(studio=member.studio_id, reed=reed).counted().order_by("at", "pk")
    return rows.select_related(None).select_related("by__person").defer("tracks")
