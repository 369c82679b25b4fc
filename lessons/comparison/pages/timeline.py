"""What a reed's life tells of comparisons: what was drawn for it."""

from __future__ import annotations

from collections.abc import Iterator

from lessons.comparison.models import Allotment
from reeds.reed.facts import RowsOf
from reeds.timeline.pages import Moment
from studio.models import Member


def drawn(of: RowsOf, member: Member) -> Iterator[Moment]:
    """Yield the moment at which the reed took its place in a comparison."""
    rows = Allotment.objects.visible_to(member).filter(reed=of.reed, plan__taken_back_at__isnull=True)
    for row in rows.select_related("plan"):
        if row.taken_at:
            yield Moment(at=row.taken_at, template="lessons/comparison/moments/drawn.html", what=row)
