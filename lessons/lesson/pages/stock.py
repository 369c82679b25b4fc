"""Whether the cane at hand will do for the work that is set."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import QuerySet

from reeds.reed.models.cane import CaneLot
from studio.access import Seer
from studio.prepared import prepared


@dataclass(frozen=True)
class Stock:
    """The counted lots in use of one maker, how many pieces are left in all, and how many are wanted."""

    lots: list[CaneLot]
    left: int
    wanted: int

    @property
    def low(self) -> list[CaneLot]:
        """The lots of which few pieces are left."""
        return [lot for lot in self.lots if lot.is_low]

    @property
    def falls_short(self) -> bool:
        """Whether the work that is set wants more pieces than there are."""
        return bool(self.lots) and self.wanted > self.left


@prepared
def counted_lots(member: Seer) -> QuerySet[CaneLot]:
    """Find their own lots in use of which somebody said how many pieces were bought."""
    lots = CaneLot.objects.visible_to(member).in_use().filter(owner=member.pk, pieces__isnull=False)
    return lots.counted().only("label", "pieces", "lost", "finished_on")


def stock_of(lots: Iterable[CaneLot], work: Iterable[tuple[int, int]]) -> Stock:
    """Return what is left of the `counted` lots, and what the open set work still wants.

    Of each piece of work how many reeds are asked for, and how many came of it. A lot of which nobody said
    how many pieces were bought is left aside.
    """
    known = [lot for lot in lots if lot.left is not None]
    left = sum(max(lot.left or 0, 0) for lot in known)
    return Stock(known, left, sum(max(count - made, 0) for count, made in work))
