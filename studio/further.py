"""Long lists in parts: fifty rows, and a plain link to those further on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar, TypeVarTuple

from django.db.models import QuerySet
from django.http import QueryDict

from studio.access import Seer
from studio.prepared import prepared

A_PART = 50
# where a page has several lists of which none is the foremost
HALF = 25
# where it has many, or one that is seldom looked at
A_FEW = 12
# a part so far on that nobody has it is asked for by hand alone
FURTHEST = 10_000

Row = TypeVar("Row")
Other = TypeVar("Other")
Given = TypeVarTuple("Given")


@dataclass(frozen=True)
class Part(Generic[Row]):
    """The rows of one part of a list; `templates/studio/_part.html` leads to those beside it."""

    rows: list[Row]
    name: str
    number: int
    has_more: bool
    asked: QueryDict
    # how many rows a part has at most, and how many there are in all, where somebody counted
    most: int = A_PART
    total: int | None = None

    def __len__(self) -> int:
        return len(self.rows)

    def showing(self, rows: list[Other]) -> Part[Other]:
        """Return the same part with something else for each of its rows."""
        return Part(rows, self.name, self.number, self.has_more, self.asked, self.most, self.total)

    @property
    def span(self) -> str:
        """Which of all it shows: '12' of the first, '13–24' of the second."""
        first = (self.number - 1) * self.most
        last = str(first + len(self.rows))
        return f"{first + 1}–{last}" if first else last

    @property
    def is_torn(self) -> bool:
        """Whether there are rows that this part does not show."""
        return self.has_more or self.number > 1

    def counted(self, rows: QuerySet[Any, Any]) -> int:
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


def part_of(rows: QuerySet[Any, Row], query: QueryDict, name: str = "page", most: int = A_PART) -> Part[Row]:
    """Return the part of an ordered list an address asks for by `name`, the first without.

    No row is counted: one more than is shown tells whether there are further ones. Past its end stands the
    first part: the list may have become shorter since the address was made.
    """
    return _part(lambda start, end: list(rows[start:end]), query, name, most)


def in_parts(
    build: Callable[[Seer, *Given], QuerySet[Any, Row]], most: int = A_PART
) -> Callable[[Seer, QueryDict, str, *Given], Part[Row]]:
    """Return what gives the part of such a list; of the first, asked for all day, the SQL is written once."""
    first = prepared(lambda member, *given: build(member, *given)[: most + 1])

    def part(member: Seer, query: QueryDict, name: str, *given: *Given) -> Part[Row]:
        def found(start: int, end: int) -> list[Row]:
            return list(build(member, *given)[start:end]) if start else first(member, *given)  # type: ignore[arg-type]  # mypy spreads `given` twice in one

        return _part(found, query, name, most)

    return part


def _part(found: Callable[[int, int], list[Row]], query: QueryDict, name: str, most: int) -> Part[Row]:
    number = number_asked(query, name)
    start = (number - 1) * most
    rows = found(start, start + most + 1)
    if number > 1 and not rows:
        number, rows = 1, found(0, most + 1)
    return Part(rows[:most], name, number, len(rows) > most, query, most)


def part_at_hand(rows: Sequence[Row], query: QueryDict, name: str = "page", most: int = A_PART) -> Part[Row]:
    """Return the same of a list that is at hand already, with how many it has."""
    number = number_asked(query, name)
    if (number - 1) * most >= len(rows):
        number = 1
    end = number * most
    return Part(list(rows[end - most : end]), name, number, len(rows) > end, query, most, len(rows))


def number_asked(query: QueryDict, name: str) -> int:
    """Return the number of the part that an address asks for, 1 for what cannot be read."""
    asked = str(query.get(name, ""))
    return min(max(int(asked[:9]), 1), FURTHEST) if asked.isdecimal() else 1
