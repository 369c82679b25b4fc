"""The limits that a reed's own sheet has for a quantity, each looked up once however many numbers ask."""

from __future__ import annotations

from collections import defaultdict
from typing import NamedTuple

from django.db.models import QuerySet

from reeds.checks.sheet import Sheet, moved
from reeds.numbers.quantity import Known
from reeds.numbers.words import Flexibility, Stage
from reeds.sheet.models.pattern import Offset, PatternVersion
from studio.access import Seer
from studio.prepared import prepared

Limits = tuple[float | None, float | None, float | None]


class Asked(NamedTuple):
    """All that a limit depends on."""

    student: int
    stage: str
    quantity: str
    version: int
    staple_length: float | None
    flexibility: str


class SheetLimits(dict[Asked, Limits]):
    """Low, aim and high of every sheet of a studio, with each player's offsets; two queries in all.

    They are in the quantity's unit, each None where the sheet has none; looked up when first asked for.
    """

    def __init__(self, asking: Seer, known: Known) -> None:
        self._known, self._versions = known, {version.pk: version for version in _versions(asking)}
        self._offsets: dict[int, dict[str, float]] = defaultdict(dict)
        for student, quantity, delta in _offsets(asking):
            self._offsets[student][quantity] = delta
        self._moved: dict[tuple[int, int], Sheet] = {}

    def __missing__(self, asked: Asked) -> Limits:
        self[asked] = limits = self._looked_up(Asked(*asked))
        return limits

    def _looked_up(self, asked: Asked) -> Limits:
        sheet = self._sheet(asked.version, asked.student)
        limit = sheet.limit_for(
            asked.quantity, asked.staple_length, Flexibility(asked.flexibility), Stage(asked.stage)
        )
        return (limit.low, limit.aim, limit.high) if limit else (None, None, None)

    def _sheet(self, version: int, student: int) -> Sheet:
        place = (version, student)
        if place not in self._moved:
            sheet = self._versions[version].sheet_in(self._known)
            self._moved[place] = moved(sheet, self._offsets.get(student, {}))
        return self._moved[place]


@prepared
def _versions(asking: Seer) -> QuerySet[PatternVersion]:
    return PatternVersion.objects.visible_to(asking).only("data").order_by()


@prepared
def _offsets(asking: Seer) -> QuerySet[Offset, tuple[int, str, float]]:
    return Offset.objects.visible_to(asking).values_list("student", "quantity", "delta")
