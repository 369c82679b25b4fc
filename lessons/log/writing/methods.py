"""How a number of a list was measured and how sure it is: as it says, else the usual way of its quantity."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from lessons.log.table.lines import Reading
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Method


class Way(NamedTuple):
    """How a number was measured and its standard uncertainty; `usual` where the list did not say it."""

    method: Method
    u: float | None
    usual: bool


@dataclass(frozen=True)
class Tools:
    """The doubts of a studio's tools, mm, where they differ from the usual."""

    doubts: Mapping[Method, float]

    def way(self, reading: Reading, said: Method | None) -> Way:
        """Return how a reading was made, if the row says `said`.

        What does not fit the quantity, and a photo or recording without its own doubt, counts as not said.
        """
        quantity = reading.quantity
        if not quantity.is_number:
            return Way(Method.EYE, None, usual=False)
        if said is not None and said in quantity.methods:
            u = self._u(quantity, said, reading.u)
            if u is not None:
                return Way(said, u, usual=False)
        method = quantity.hand_method if quantity.is_typed else quantity.method
        return Way(method, self._u(quantity, method, reading.u), usual=True)

    def _u(self, quantity: Quantity, method: Method, told: float | None) -> float | None:
        return quantity.default_u(method, self.doubts) if told is None else told
