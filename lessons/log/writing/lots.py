"""Lots of cane that a list names: those at hand, and those that it makes."""

from __future__ import annotations

from collections.abc import Iterable

from lessons.log.models import ReedLog
from lessons.log.table.gathering import Gathered
from reeds.reed.models.cane import CaneLot
from studio.models import TEACHING_ROLES

# by whose reed it is and the label, folded
Lots = dict[tuple[int, str], int]


def named_lots(reeds: Iterable[Gathered]) -> dict[tuple[int, str], str]:
    """Return the labels that new reeds name, by owner and folded label."""
    told = ((one.owner, str(one.facts["cane"])) for one in reeds if one.there is None and "cane" in one.facts)
    return {(owner, label.casefold()): label for owner, label in told}


def lots_at_hand(log: ReedLog, wanted: Iterable[tuple[int, str]]) -> Lots:
    """Return which lots of these labels are there: the owner's own, else a teacher's handed out."""
    own: Lots = {}
    handed_out: dict[str, int] = {}
    rows = CaneLot.objects.filter(studio=log.studio_id).order_by("-added_at")
    for pk, owner, role, label in rows.values_list("pk", "owner", "owner__role", "label"):
        own.setdefault((owner, label.casefold()), pk)
        if role in TEACHING_ROLES:
            handed_out.setdefault(label.casefold(), pk)
    found = ((place, own.get(place) or handed_out.get(place[1])) for place in wanted)
    return {place: pk for place, pk in found if pk is not None}


def make_lots(log: ReedLog, reeds: Iterable[Gathered]) -> tuple[Lots, int]:
    """Return the lots of all labels, and how many had to be made."""
    wanted = named_lots(reeds)
    lots = lots_at_hand(log, wanted)
    missing = [
        CaneLot(studio_id=log.studio_id, owner_id=place[0], label=label, log=log.key)
        for place, label in wanted.items()
        if place not in lots
    ]
    for row in CaneLot.objects.bulk_create(missing):
        lots[row.owner_id, row.label.casefold()] = row.pk
    return lots, len(missing)
