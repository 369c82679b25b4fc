"""An outcome and a factor: what may be asked about, with what is known of each reed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lessons.comparison.inference.compared import Measure


@dataclass(frozen=True)
class Outcome:
    """One way of having come out.

    `did` and `better` finish a sentence: '32 of 100 more came to play', 'the one that rested longer came to
    play'. `values` holds a number for each reed of which it is known, 1 or 0 for yes
    or no; `no` is what is said of a no.
    """

    key: str
    label: str
    did: str
    better: str
    values: Mapping[int, float]
    measure: Measure = Measure.SHARES
    no: str = ""


@dataclass(frozen=True)
class Factor:
    """One thing in which reeds differ.

    `values` holds for each reed of which it is known the name of its group, or an amount in `unit`; `more`
    finishes 'the one …' of an amount: 'that rested longer'.
    """

    key: str
    label: str
    values: Mapping[int, str | float]
    more: str = ""
    unit: str = ""

    @property
    def is_amount(self) -> bool:
        return bool(self.more)
