"""Which comparisons are over and wait to be read."""

from __future__ import annotations

from collections.abc import Iterable

from lessons.comparison.models import PlannedComparison
from studio.models import Member


def due_for(asking: Member) -> Iterable[PlannedComparison]:
    """Return what is due, for whoever teaches."""
    return PlannedComparison.objects.visible_to(asking).due() if asking.teaches else []
