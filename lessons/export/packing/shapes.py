"""What a table of an export looks like: its columns, each with what it is in plain words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Kind(StrEnum):
    """What a column holds, by its name in Table Schema (Frictionless Standards, v1)."""

    TEXT = "string"
    WHOLE = "integer"
    NUMBER = "number"
    YES_NO = "boolean"
    MOMENT = "datetime"
    DAY = "date"
    NESTED = "object"  # of JSON alone: a spreadsheet has no use for it


@dataclass(frozen=True)
class Column:
    """One column.

    Attributes
    ----------
    name : str
        Its heading, lasting: a key of the registry where it is one.
    said : str
        A marked sentence or phrase: what it is.
    kind : Kind
        What its cells are.
    unit : str
        '' where it has none, or where another column of the row names it.
    words : tuple of (word, marked label)
        All that can stand in it, where that is a closed list.
    """

    name: str
    said: str
    kind: Kind = Kind.TEXT
    unit: str = ""
    words: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Shape:
    """One table.

    Attributes
    ----------
    name : str
        Of its files, without ending.
    said : str
        A marked sentence: what one row is.
    columns : tuple of Column
        From left to right.
    key : str
        The column that tells its rows apart, '' for none.
    leads : mapping of a column's name to the name of a table
        Whose key stands in the column.
    """

    name: str
    said: str
    columns: tuple[Column, ...]
    key: str = ""
    leads: Mapping[str, str] = field(default_factory=dict)

    @property
    def names(self) -> list[str]:
        """All columns, as the JSON has them."""
        return [column.name for column in self.columns]

    @property
    def flat(self) -> list[int]:
        """The places of the columns that the CSV has."""
        return [place for place, column in enumerate(self.columns) if column.kind is not Kind.NESTED]

    @property
    def in_csv(self) -> list[Column]:
        """The columns that the CSV has."""
        return [self.columns[place] for place in self.flat]
