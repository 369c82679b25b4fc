"""Long lists in parts: fifty rows, and a plain link to those further on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.db.models import Model, QuerySet

A_PART = 50
# a part so far on that nobody has it is asked for by hand alone
FURTHEST = 10_000

Row = TypeVar("Row", bound=Model)


@dataclass(frozen=True)
class Part(Generic[Row]):
    """The rows of one part of a list; `templates/studio/_part.html` leads to those beside it."""

    rows: list[Row]
    name: str
    number: int
    has_more: bool

    @property
    def is_torn(self) -> bool:
        """Whether there are rows that this part does not show."""
        return self.has_more or self.number > 1

    def counted(self, rows: QuerySet[Row, Any]) -> int:
        """Return how many there are in all; asks the database only where this part is not the whole."""
        return rows.count() if self.is_torn else len(self.rows)

    @property
    def before(self) -> int:
        return self.number - 1

    @property
    def next(self) -> int:
        return self.number + 1


def part_of(rows: QuerySet[Row, Any], query: Mapping[str, Any], name: str = "page") -> Part[Row]:
    """Return the part of an ordered list an address asks for by `name`, the first without.

    No row is counted: one more than is shown tells whether there are further ones.
    """
    asked = str(query.get(name, ""))
    number = min(max(int(asked[:9]), 1), FURTHEST) if asked.isdecimal() else 1
    start = (number - 1) * A_PART
    found = list(rows[start : start + A_PART + 1])
    return Part(found[:A_PART], name, number, len(found) > A_PART)
