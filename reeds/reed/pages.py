"""A box: blanks at rest, for how long, and which have rested enough by their own sheet."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any, NamedTuple

from django.db.models import QuerySet

from reeds.checks.sheet import Sheet
from reeds.numbers.words import Flexibility
from reeds.reed.models.knife import Knife
from reeds.reed.models.reed import Reed
from reeds.sheet.models.own import known_to
from reeds.sheet.models.pattern import PatternVersion
from studio.access import Seer
from studio.models import NAMING, called
from studio.prepared import prepared

# one night, taken as half a day: common practice, no source; where a sheet says nothing of rest
ONE_NIGHT = 0.5


class Blank(NamedTuple):
    """A blank in a box, with the moment from which it is ready."""

    pk: int
    number: int
    stage: str
    since: dt.datetime
    owner: int
    # what its owner is called, what its lot of cane is
    who: str
    cane: str
    ready_at: dt.datetime


class Kind(NamedTuple):
    """What the least rest of a blank hangs on."""

    version: int
    staple_length: float | None
    flexibility: str


@dataclass(frozen=True)
class Box:
    """Blanks of one member, longest rest first, and how much lies in it: more, where this is a part of it."""

    owner: int
    who: str
    blanks: list[Blank]
    count: int
    ready: int
    knife: Knife | None = None


def blanks_of(member: Seer, *, own: bool = False) -> list[Blank]:
    """Return all blanks at rest that a member may see, or their own; by owner, the longest rest first.

    They are as plain as they are read: a box may hold hundreds.
    """
    rows = [(Kind(*row[:3]), row[3:]) for row in _at_rest(member, own)]
    wanted = _wanted(member, {kind for kind, _ in rows})
    return [
        Blank(pk, number, stage, since, owner, called(owner, *naming), cane or "", since + wanted[kind])
        for kind, (pk, number, stage, since, owner, cane, *naming) in rows
    ]


@prepared
def _at_rest(member: Seer, own: bool) -> QuerySet[Reed, tuple[Any, ...]]:
    rows = Reed.objects.visible_to(member).at_rest()
    if own:
        rows = rows.filter(owner=member.pk)
    by_owner = rows.order_by("owner__person__name", "owner_id", "rests_since", "number")  # type: ignore[misc]  # of `at_rest`
    naming = [f"owner__{name}" for name in NAMING]
    told = ("pk", "number", "stage", "rests_since", "owner_id", "cane__label", *naming)
    return by_owner.values_list("version_id", "staple_length", "flexibility", *told)


def _wanted(member: Seer, kinds: Iterable[Kind]) -> dict[Kind, dt.timedelta]:
    """Return the least rest of each kind by its own sheet; each version is read once."""
    kinds = list(kinds)
    if not kinds:
        return {}
    known = known_to(member)
    versions = _versions(member, tuple({kind.version for kind in kinds}))
    sheets = {version.pk: version.sheet_in(known) for version in versions}
    return {kind: least_rest(sheets[kind.version], kind.staple_length, kind.flexibility) for kind in kinds}


@prepared
def _versions(member: Seer, pks: tuple[int, ...]) -> QuerySet[PatternVersion]:
    return PatternVersion.objects.visible_to(member).filter(pk__in=pks).only("data").order_by()


def least_rest(sheet: Sheet, staple_length: float | None, flexibility: str) -> dt.timedelta:
    """Return the least rest by a reed's own sheet, one night where it says nothing of that."""
    row = sheet.limit_for("rest", staple_length, Flexibility(flexibility))
    return dt.timedelta(days=row.low if row and row.low is not None else ONE_NIGHT)


def boxes_of(
    shown: Iterable[Blank], everything: Iterable[Blank], now: dt.datetime, knives: Mapping[int, Knife]
) -> list[Box]:
    """Return a box for each owner of what is shown; it counts all that lies in it.

    Both stand in the order of `blanks_of`; `knives` are those of the owners.
    """
    lying = {owner: list(some) for owner, some in groupby(everything, key=lambda one: one.owner)}
    boxes = []
    for owner, some in groupby(shown, key=lambda one: one.owner):
        blanks, ready = list(some), sum(one.ready_at <= now for one in lying[owner])
        boxes.append(Box(owner, blanks[0].who, blanks, len(lying[owner]), ready, knives.get(owner)))
    return boxes
