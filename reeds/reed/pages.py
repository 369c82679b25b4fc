"""A box: blanks at rest, for how long, and which have rested enough by their own sheet."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby

from reeds.checks.sheet import Sheet
from reeds.numbers.quantity import Known
from reeds.numbers.words import Flexibility
from reeds.reed.models.knife import Knife
from reeds.reed.models.reed import Reed, ReedQuerySet
from reeds.sheet.models.pattern import PatternVersion
from studio.access import Seer
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
    # of all that lie in it, where not all are shown
    tally: Tally | None = None

    @property
    def count(self) -> int:
        return self.tally.count if self.tally else len(self.blanks)

    @property
    def ready(self) -> int:
        """How many have rested enough."""
        return self.tally.ready if self.tally else sum(blank.is_ready for blank in self.blanks)


@dataclass
class Tally:
    """How many blanks lie in a box, and how many of them have rested enough."""

    count: int = 0
    ready: int = 0


def _wanted(sheet: Sheet, staple_length: float | None, flexibility: str) -> dt.timedelta:
    """The least rest by a reed's own sheet."""
    row = sheet.limit_for("rest", staple_length, Flexibility(flexibility))
    return dt.timedelta(days=row.low if row and row.low is not None else ONE_NIGHT)


def tallies_of(blanks: ReedQuerySet, asking: Seer, now: dt.datetime, known: Known) -> dict[int, Tally]:
    """Return by owner how much lies in each box, by two queries and without a row of any blank."""
    kind = ("version_id", "staple_length", "flexibility")
    rows = blanks.order_by().values_list("owner_id", "rests_since", *kind)
    found = list(rows)
    versions = PatternVersion.objects.visible_to(asking).in_bulk({row[2] for row in found})
    kinds = {row[2:] for row in found}
    wanted = {of: _wanted(versions[of[0]].sheet_in(known), *of[1:]) for of in kinds}
    tallies: dict[int, Tally] = defaultdict(Tally)
    for owner, since, *of in found:
        tallies[owner].count += 1
        tallies[owner].ready += now >= since + wanted[tuple(of)]
    return tallies


def boxes_of(
    blanks: Iterable[Reed],
    now: dt.datetime,
    known: Known,
    knives: Mapping[int, Knife],
    tallies: Mapping[int, Tally] | None = None,
) -> list[Box]:
    """Return a box for each owner by name; within it the longest rest first.

    `blanks` are reeds as `at_rest` gives them, with their owner and version at hand;
    `known` is what their studio knows, `knives` are those of the owners, `tallies` of all that lies in the
    boxes where `blanks` are only a part of it.
    """
    sheets: dict[int, Sheet] = {}
    rows = sorted(blanks, key=lambda reed: (str(reed.owner), reed.owner_id, reed.resting_since, reed.number))
    boxes = []
    for _owner, some in groupby(rows, key=lambda reed: reed.owner_id):
        kept = [Blank(reed, reed.resting_since + least_rest(reed, known, sheets), now) for reed in some]
        owner = kept[0].reed.owner
        boxes.append(Box(owner, kept, knives.get(owner.pk), tallies.get(owner.pk) if tallies else None))
    return boxes


def least_rest(reed: Reed, known: Known, sheets: dict[int, Sheet]) -> dt.timedelta:
    """Return the least rest of a blank; each version is read once, into `sheets`."""
    if reed.version_id not in sheets:
        sheets[reed.version_id] = reed.version.sheet_in(known)
    return _wanted(sheets[reed.version_id], reed.staple_length, reed.flexibility)
