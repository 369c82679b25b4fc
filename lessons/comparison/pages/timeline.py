"""What a reed's life tells of comparisons: what was drawn for it."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import QuerySet
from django.utils.html import format_html
from django.utils.translation import gettext as _

from lessons.comparison.models import Allotment
from reeds.reed.facts import RowsOf
from reeds.timeline.pages import Moment
from reeds.timeline.written import spoken
from studio.access import Seer
from studio.models import Member
from studio.prepared import prepared

DRAWN = '<strong><a href="{}">{}</a></strong>: {}'


def drawn(of: RowsOf, member: Member) -> Iterator[Moment]:
    """Yield the moment at which the reed took its place in a comparison."""
    for row in _drawn(member, of.reed.pk):
        if row.taken_at:
            there = member.to("lessons:comparison", row.plan_id)
            shown = format_html(DRAWN, there, _("Drawn by lot"), row.way)
            yield Moment(at=row.taken_at, shown=spoken(shown))


@prepared
def _drawn(member: Seer, reed: int) -> QuerySet[Allotment]:
    rows = Allotment.objects.visible_to(member).filter(reed=reed, plan__taken_back_at__isnull=True)
    return rows.select_related("plan")
