"""The small photo beside a reed's number: wherever reeds are listed, one query for all of them."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import QuerySet

from reeds.reed.models.reed import Reed
from studio.access import Seer
from studio.prepared import prepared


def with_thumbs(member: Seer, reeds: Iterable[Reed]) -> list[Reed]:
    """Return the reeds, each carrying as `thumb` the key of its newest photo that this member may be shown.

    `templates/reeds/reed/_thumb.html` shows it. Rows that are already at hand are not fetched again.
    """
    rows = list(reeds)
    newest = thumbs_of(member, [row.pk for row in rows])
    for row in rows:
        row.thumb = newest.get(row.pk)
    return rows


def thumbs_of(member: Seer, reeds: Iterable[int]) -> dict[int, int]:
    """Return by the key of a reed the key of that photo, where there is one."""
    return dict(_newest(member, tuple(reeds)))


@prepared
def _newest(member: Seer, reeds: tuple[int, ...]) -> QuerySet[Reed, tuple[int, int]]:
    return Reed.objects.visible_to(member).filter(pk__in=reeds).newest_photos()
