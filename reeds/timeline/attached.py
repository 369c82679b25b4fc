"""What was photographed and recorded of a reed that one sees: shown, or erased since and told of."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeVar

from django.db.models import Q, QuerySet

from reeds.photo.models.photo import Photo
from reeds.reed.facts import RowsOf, last_cut
from reeds.reed.listening import HeardOf
from reeds.reed.rows import BY
from reeds.take.models import Take, TakeState
from reeds.take.processing import Processing
from reeds.take.sound.heard import Heard
from reeds.take.told import SITTING, heard_among, read_for_checks
from studio.access import Seer
from studio.prepared import prepared

Row = TypeVar("Row", Photo, Take)
OF_BOTH = ("state", "refusal", "taken_back_at", "erased_at", *BY)


@dataclass(frozen=True)
class HeardRow:
    """A recording that was heard, as the checks read it: only that of which they ask is read."""

    pk: int
    reed_id: int
    item: str
    at: dt.datetime
    granted: Mapping[str, Any]
    result: Mapping[str, Any]

    @cached_property
    def heard(self) -> Heard:
        """What was heard in it."""
        return read_for_checks(self.result)

    @cached_property
    def processing(self) -> Processing:
        """What the browser said of its own processing of the sound."""
        return Processing.from_json(self.granted)


class RowsOfLife(RowsOf):
    """A reed's rows, and with them what was photographed and recorded of it."""

    @cached_property
    def photos(self) -> list[Photo]:
        """Its photos, the first sent first."""
        return [self._of_it(row) for row in _photographed(self.reed.owner, self.reed.pk)]

    @cached_property
    def takes(self) -> list[Take]:
        """Its recordings, the first played first."""
        return [self._of_it(row) for row in self._recorded if row.reed_id == self.reed.pk]

    @property
    def heard(self) -> HeardOf:
        """What recordings told of it, from the same rows."""
        there = (row for row in self._recorded if row.is_ready and row.taken_back_at is None)
        heard = [HeardRow(row.pk, row.reed_id, row.item, row.at, row.granted, row.result) for row in there]
        return heard_among(heard, self.reed, last_cut(self.events))

    @cached_property
    def _recorded(self) -> list[Take]:
        """Its recordings, and those of its player's reference reed since a sitting before its last step."""
        return _recorded(self.reed.owner, self.reed.pk, self.reed.stage_since - SITTING)

    def _of_it(self, row: Row) -> Row:
        row.reed = self.reed
        return row


@prepared
def _photographed(owner: Seer, reed: int) -> QuerySet[Photo]:
    rows = Photo.objects.filter(studio=owner.studio_id, reed=reed).counted().order_by("sent_at", "pk")
    rows = rows.select_related(None).select_related("by__person")
    return rows.only("view", "sent_at", "width", "height", *OF_BOTH)


@prepared
def _recorded(owner: Seer, reed: int, since: dt.datetime) -> QuerySet[Take]:
    of_reference = Q(reed__is_reference=True, reed__owner=owner.pk, state=TakeState.READY, at__gte=since)
    rows = Take.objects.filter(Q(reed=reed) | of_reference, studio=owner.studio_id).counted()
    rows = rows.order_by("at", "pk").select_related(None).select_related("by__person")
    return rows.only("reed", "item", "at", "granted", "result", *OF_BOTH)
