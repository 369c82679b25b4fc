"""A measuring sheet as a page shows it: quantity by quantity, with what a tool cannot decide."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby

from django.utils.text import capfirst
from django.utils.translation import gettext as _

from reeds.checks.conformity import can_decide
from reeds.checks.sheet import Limit, Sheet
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Method, Stage

Doubts = Mapping[Method, float]


@dataclass(frozen=True)
class QuantityRows:
    """One quantity on a sheet: its rows, what a tool cannot decide, and how far it was moved for a player."""

    quantity: Quantity
    limits: tuple[Limit, ...]
    hint: str
    offset: float | None = None


def _decides(quantity: Quantity, method: Method, limits: Iterable[Limit], doubts: Doubts) -> bool:
    u = quantity.default_u(method, doubts)
    return u is None or all(can_decide(u, row.low, row.high) for row in limits)


def hint_of(quantity: Quantity, limits: Iterable[Limit], doubts: Doubts | None = None) -> str:
    """Return what to measure with where the usual tool is too coarse for a row, or '' if it will do."""
    own = doubts or {}
    rows = list(limits)
    if not quantity.is_number or _decides(quantity, quantity.method, rows, own):
        return ""
    others = [way for way in quantity.methods if way is not quantity.method]
    better = [way for way in others if _decides(quantity, way, rows, own)]
    tool = capfirst(_(quantity.method.label))
    if not better:
        return _("%(tool)s is too coarse here, and so is any other tool named here.") % {"tool": tool}
    ways = _(" or ").join(_(way.label) for way in better)
    return _("%(tool)s is too coarse here: take %(ways)s.") % {"tool": tool, "ways": ways}


def rows_of(
    sheet: Sheet, doubts: Doubts | None = None, offsets: Mapping[str, float] | None = None
) -> list[QuantityRows]:
    """Return the sheet's quantities in order, each with its rows."""
    grouped = groupby(sheet.limits, key=lambda row: row.quantity)
    made = []
    for key, limits in grouped:
        rows, quantity = tuple(limits), sheet.known[key]
        made.append(QuantityRows(quantity, rows, hint_of(quantity, rows, doubts), (offsets or {}).get(key)))
    return made


def by_stage(rows: Iterable[QuantityRows]) -> list[tuple[Stage, list[QuantityRows]]]:
    """Return the rows under the stage from which on each holds."""
    ordered = sorted(rows, key=lambda row: row.quantity.stage.order)
    return [(stage, list(some)) for stage, some in groupby(ordered, key=lambda row: row.quantity.stage)]
