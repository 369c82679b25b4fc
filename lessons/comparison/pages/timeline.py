"""What a reed's life tells of comparisons: what was drawn for it."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import QuerySet

from lessons.comparison.models import Allotment
from reeds.reed.facts import RowsOf
from reeds.timeline.pages import Moment
from studio.access import Seer
from studio.models import Member
from studio.prepared import prepared


def drawn(of: RowsOf, member: Member) -> Iterator[Moment]:
    """Yield the moment at which the reed took its place in a comparison."""
    for row in _drawn(member, of.reed.pk):
        if row.taken_at:
            yield Moment(at=row.taken_at, template="lessons/comparison/moments/drawn.html", what=row)


@prepared
def _drawn(member: Seer, reed: int) -> QuerySet[Allotment]:
    rows = Allotment.objects.visible_to(member).filter(reed=reed, plan__taken_back_at__isnull=True)
    return rows.select_related("plan")
