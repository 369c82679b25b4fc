"""What looking a list over found: what would be made of it, what is wrong, and what must be settled first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from typing import Any, Self


@dataclass
class Found:
    """Counts and questions, kept with the list until it is looked over again.

    Attributes
    ----------
    reeds, added_to : int
        New reeds, and reeds that are there already and get numbers.
    numbers, tests, notes, lots : int
        What else is made: numbers and words seen, playing tests, notes of a reed's life, lots of cane.
    usual : int
        Numbers of which the list does not say how they were measured, or in a way that does not fit them.
    stage_taken : int
        New reeds of which it does not say how far they are.
    wrong_rows : int
        Rows that cannot be used.
    wrong : list of [row, heading, marked sentence, what fills its places]
        What is wrong with them, the first 300.
    open_orders : list of int
        Places of columns whose days could be read two ways.
    """

    reeds: int = 0
    added_to: int = 0
    numbers: int = 0
    tests: int = 0
    notes: int = 0
    lots: int = 0
    usual: int = 0
    stage_taken: int = 0
    wrong_rows: int = 0
    wrong: list[list[Any]] = field(default_factory=list)
    open_orders: list[int] = field(default_factory=list)

    @property
    def is_nothing(self) -> bool:
        """Whether nothing would come of it."""
        return not (self.reeds or self.numbers or self.tests or self.notes)

    def to_json(self) -> dict[str, Any]:
        """Return plain data that `from_json` gives back."""
        return asdict(self)

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Self:
        """Return what `to_json` kept."""
        names = {one.name for one in fields(cls)}
        return cls(**{name: value for name, value in data.items() if name in names})
