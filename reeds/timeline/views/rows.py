"""The row that a reed's pages take."""

from __future__ import annotations

from reeds.reed.models.reed import Reed
from studio.access import MemberRequest, fetch


def reed_for(request: MemberRequest, pk: int) -> Reed:
    """Return the reed with what its page shows, or answer 404."""
    rows = Reed.objects.visible_to(request.member)
    return fetch(rows.select_related("owner__person", "version__pattern", "cane"), request.member, pk)
