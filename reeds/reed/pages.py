"""A box: blanks at rest, for how long, and which have rested enough by their own sheet."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby

from reeds.checks.sheet import Sheet
from reeds.numbers.quantity import Known
from reeds.numbers.words import Flexibility
from reeds.reed.models.knife import Knife
from reeds.reed.models.reed import Reed
from studio.models import Member

# one night, taken as half a day: common practice, no source; where a sheet says nothing of rest
ONE_NIGHT = 0.5


@dataclass(frozen=True)
class Blank:
    """A blank in the box, with the moment from which it is ready."""

    reed: Reed
    ready_at: dt.datetime
    now: dt.datetime

    @property
    def rested(self) -> dt.timedelta:
        return self.now - self.reed.resting_since

    @property
    def is_ready(self) -> bool:
        return self.now >= self.ready_at


@dataclass(frozen=True)
class Box:
    """One member's blanks, longest rest first."""

    owner: Member
    blanks: list[Blank]
    knife: Knife | None = None

    @property
    def ready(self) -> int:
        """How many have rested enough."""
        return sum(blank.is_ready for blank in self.blanks)


def _wanted(reed: Reed, known: Known, sheets: dict[int, Sheet]) -> dt.timedelta:
    """The least rest by the reed's own sheet; each version is read once."""
    if reed.version_id not in sheets:
        sheets[reed.version_id] = reed.version.sheet_in(known)
    row = sheets[reed.version_id].limit_for("rest", reed.staple_length, Flexibility(reed.flexibility))
    return dt.timedelta(days=row.low if row and row.low is not None else ONE_NIGHT)


def boxes_of(
    blanks: Iterable[Reed], now: dt.datetime, known: Known, knives: Mapping[int, Knife]
) -> list[Box]:
    """Return a box for each owner by name; within it the longest rest first.

    `blanks` are reeds as `at_rest` gives them, with their owner and version at hand;
    `known` is what their studio knows, `knives` are those of the owners.
    """
    sheets: dict[int, Sheet] = {}
    rows = sorted(blanks, key=lambda reed: (str(reed.owner), reed.owner_id, reed.resting_since, reed.number))
    boxes = []
    for _owner, some in groupby(rows, key=lambda reed: reed.owner_id):
        kept = [Blank(reed, reed.resting_since + _wanted(reed, known, sheets), now) for reed in some]
        owner = kept[0].reed.owner
        boxes.append(Box(owner, kept, knives.get(owner.pk)))
    return boxes
