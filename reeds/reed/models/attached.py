"""What photos and recordings of a reed share: taken back, hidden by a consent taken back, or erased."""

from __future__ import annotations

from typing import Self, TypeVar

from django.db.models import Q

from studio.access import Seer, StudioQuerySet, StudioRow
from studio.consented import hidden

Row = TypeVar("Row", bound=StudioRow)


class AttachedQuerySet(StudioQuerySet[Row]):
    """Rows with a `reed`, `taken_back_at` and `erased_at`."""

    def visible_to(self, member: Seer) -> Self:
        """Return what this member may see: nothing that was taken back, nothing of a reed taken out."""
        return super().visible_to(member).filter(reed__taken_out_at__isnull=True).kept()

    def kept(self) -> Self:
        """Return what was not taken back, with whose it is: that says whether it is shown."""
        return self.filter(taken_back_at__isnull=True).select_related("reed__owner")

    def shown(self) -> Self:
        """Return what is not hidden by a consent that was taken back."""
        return self.exclude(hidden("reed__owner"))

    def counted(self) -> Self:
        """Return that whose numbers hold: kept, or erased since, which leaves the numbers."""
        return self.filter(Q(taken_back_at__isnull=True) | Q(erased_at__isnull=False))

    def erased(self) -> Self:
        """Return what was erased: rows without a picture or a sound."""
        return self.filter(erased_at__isnull=False)
