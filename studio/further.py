"""Long lists in parts: fifty rows, and a plain link to those further on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.db.models import Model, QuerySet
from django.http import QueryDict

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
    asked: QueryDict

    @property
    def is_torn(self) -> bool:
        """Whether there are rows that this part does not show."""
        return self.has_more or self.number > 1

    def counted(self, rows: QuerySet[Row, Any]) -> int:
        """Return how many there are in all; asks the database only where this part is not the whole."""
        return rows.count() if self.is_torn else len(self.rows)

    @property
    def before(self) -> str:
        """The address of the part before, at its place of the page; of other lists the same parts as now."""
        return self._at(self.number - 1)

    @property
    def next(self) -> str:
        """The address of the next part, likewise."""
        return self._at(self.number + 1)

    def _at(self, number: int) -> str:
        query = self.asked.copy()
        query[self.name] = str(number)
        return f"?{query.urlencode()}#{self.name}"


def part_of(rows: QuerySet[Row, Any], query: QueryDict, name: str = "page") -> Part[Row]:
    """Return the part of an ordered list an address asks for by `name`, the first without.

    No row is counted: one more than is shown tells whether there are further ones. Past its end stands the
    first part: the list may have become shorter since the address was made.
    """
    asked = str(query.get(name, ""))
    number = min(max(int(asked[:9]), 1), FURTHEST) if asked.isdecimal() else 1
    found = _found(rows, number)
    if number > 1 and not found:
        number, found = 1, _found(rows, 1)
    return Part(found[:A_PART], name, number, len(found) > A_PART, query)


def _found(rows: QuerySet[Row, Any], number: int) -> list[Row]:
    start = (number - 1) * A_PART
    return list(rows[start : start + A_PART + 1])
