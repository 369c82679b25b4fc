"""Which comparisons are over and wait to be read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from django.db.models import QuerySet
from django.utils import timezone

from lessons.comparison.models import PlannedComparison
from studio.access import Seer
from studio.models import Member
from studio.prepared import prepared


def due_for(asking: Member) -> Iterable[PlannedComparison]:
    """Return what is due, for whoever teaches."""
    return _due(asking, timezone.localdate()) if asking.teaches else []


@prepared
def _due(member: Seer, today: dt.date) -> QuerySet[PlannedComparison]:
    return PlannedComparison.objects.visible_to(member).due(today)
