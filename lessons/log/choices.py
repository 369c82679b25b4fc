"""What a person chose of a list: what its columns are taken for, and how what is unclear is settled."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Self

from lessons.log.table.days import Order
from lessons.log.table.existing import Existing

# what a column is taken for that is left out by choice
LEFT_OUT = ""


@dataclass(frozen=True)
class Choices:
    """The choices of one list.

    Attributes
    ----------
    columns : dict of int to str
        By place of a column the key of what it is, `LEFT_OUT` for one left out by choice; one that is not in
        it is not decided yet.
    orders : dict of int to Order
        By place, what comes first in days such as 3/4/2026 where the file does not show it.
    existing : Existing
        What becomes of a reed that is there already.
    sheet : int or None
        The measuring sheet of reeds whose row names none.
    made_on : datetime.date or None
        When reeds were made of which no row says it.
    """

    columns: Mapping[int, str] = field(default_factory=dict)
    orders: Mapping[int, Order] = field(default_factory=dict)
    existing: Existing = Existing.REFUSE
    sheet: int | None = None
    made_on: dt.date | None = None

    def to_json(self) -> dict[str, Any]:
        """Return plain data that `from_json` gives back."""
        return {
            "columns": {str(place): key for place, key in self.columns.items()},
            "orders": {str(place): order.value for place, order in self.orders.items()},
            "existing": self.existing.value,
            "sheet": self.sheet,
            "made_on": self.made_on.isoformat() if self.made_on else None,
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Self:
        """Return the choices kept by `to_json`; the usual ones for nothing."""
        made_on = data.get("made_on")
        return cls(
            columns={int(place): key for place, key in data.get("columns", {}).items()},
            orders={int(place): Order(order) for place, order in data.get("orders", {}).items()},
            existing=Existing(data.get("existing", Existing.REFUSE)),
            sheet=data.get("sheet"),
            made_on=dt.date.fromisoformat(made_on) if made_on else None,
        )

    def leaving_out(self, places: int) -> Self:
        """Return the same with every column left out, of so many, that is not decided."""
        return replace(self, columns={**dict.fromkeys(range(places), LEFT_OUT), **self.columns})
