"""What a studio and one of its players have of their own, for the pages that ask for all of it each time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet, Value

from reeds.numbers.quantity import Known
from reeds.numbers.words import Method
from reeds.sheet.models.doubt import OwnDoubt
from reeds.sheet.models.own import OwnQuantity, joined
from reeds.sheet.models.pattern import Offset
from studio.access import Seer
from studio.prepared import prepared

QUANTITY, DOUBT, OFFSET = "quantity", "doubt", "offset"
# what else is read of a quantity: the other two have no more than a key and a figure
BESIDE = [one for one in OwnQuantity._meta.fields if one.name not in ("key", "u", "studio", "made_by")]
NAMES = [one.name for one in BESIDE]


@dataclass(frozen=True)
class Ours:
    """What a studio knows, how sure it takes its tools to be, and what one player's instrument wants."""

    known: Known
    doubts: Mapping[Method, float]
    offsets: Mapping[str, float]


def ours_of(player: Seer) -> Ours:
    """Return what holds for a player's reeds."""
    told: dict[str, list[Any]] = {QUANTITY: [], DOUBT: [], OFFSET: []}
    for what, *row in _ours(player):
        told[what].append(row)
    own = [OwnQuantity(**dict(zip(("key", "u", *NAMES), row, strict=True))) for row in told[QUANTITY]]
    return Ours(
        joined(sorted(own, key=lambda row: (row.made_at, row.pk))),
        {Method(method): u for method, u, *_ in told[DOUBT]},
        {quantity: delta for quantity, delta, *_ in told[OFFSET]},
    )


@prepared
def _ours(player: Seer) -> QuerySet[OwnQuantity, Any]:
    """Find three kinds of rows at once: what each is, its key and figure, and what else a quantity has."""
    of_studio = {"studio": player.studio_id}
    own = OwnQuantity.objects.filter(**of_studio).order_by()
    doubts = OwnDoubt.objects.filter(**of_studio).order_by()
    offsets = Offset.objects.filter(**of_studio, student=player.pk).order_by()
    none = [Value(None, one) for one in BESIDE]
    return own.values_list(Value(QUANTITY), "key", "u", *NAMES).union(
        doubts.values_list(Value(DOUBT), "method", "u_mm", *none),
        offsets.values_list(Value(OFFSET), "quantity", "delta", *none),
        all=True,
    )
