"""The first and the latest of a student's term: to lay side by side, and to listen to."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from django.db.models import QuerySet

from lessons.term.lookback.rows import ReedInTerm
from reeds.numbers.words import PLAYING_TEST
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.take.models import Take
from reeds.take.pages.sounding import ShownTake
from studio.access import Seer
from studio.consented import hidden
from studio.models import Member, Term
from studio.prepared import prepared

# two recordings nearer to one another than this are one sitting and show no change; own choice, no source
APART = dt.timedelta(days=7)


@dataclass(frozen=True)
class PhotosSeen:
    """The newest flat photo of the first and of the latest reed that has one, in this order.

    `measured` counts the reeds of which a photo was measured, laid flat or not.
    """

    shown: list[PhotoMeasuring]
    measured: int


def photos_seen(reeds: Sequence[ReedInTerm], asking: Member) -> PhotosSeen:
    """Return what can be laid side by side at true scale of the reeds given, the first made first."""
    made = {reed.reed: place for place, reed in enumerate(reeds)}
    of_reed: dict[int, list[PhotoMeasuring]] = defaultdict(list)
    for row in _measured(asking, tuple(made)):
        of_reed[made[row.photo.reed_id]].append(row)
    laid = [[row for row in of_reed[place] if row.is_flat] for place in sorted(of_reed)]
    newest = [of_it[0] for of_it in laid if of_it]
    return PhotosSeen(newest[:1] + newest[1:][-1:], len(of_reed))


@prepared
def _measured(asking: Seer, reeds: tuple[int, ...]) -> QuerySet[PhotoMeasuring]:
    """The photos that have foot and tip set, without which none can be laid flat, the newest first."""
    rows = PhotoMeasuring.objects.visible_to(asking).measured().exclude(hidden("photo__reed__owner"))
    rows = rows.filter(
        camera__isnull=False, landmarks__has_keys=["staple_foot", "tip"], photo__reed__in=reeds
    )
    told = ("flat", "flat_of", "measured_at", "photo__sent_at", "photo__reed__number")
    return rows.select_related("photo__reed").only(*told).order_by("-measured_at", "-pk")


class TakeInTerm(NamedTuple):
    """What one has to know of a recording to choose it."""

    take: int
    item: str
    at: dt.datetime
    reed: int


@dataclass(frozen=True)
class TakesHeard:
    """An early and a late recording of one item, or only the newest of the term."""

    shown: list[ShownTake]


def takes_heard(term: Term, asking: Member, student: Member) -> TakesHeard:
    """Return what can be listened to one after the other: of two reeds, a week or more apart."""
    pair = furthest_apart([TakeInTerm(*row) for row in _heard(asking, *term.span, student.pk)])
    by_pk = {row.pk: row for row in _takes(asking, tuple(one.take for one in pair))}
    return TakesHeard([ShownTake(by_pk[one.take]) for one in pair])


@prepared
def _heard(
    asking: Seer, start: dt.datetime, end: dt.datetime, student: int
) -> QuerySet[Take, tuple[int, str, dt.datetime, int]]:
    rows = Take.objects.visible_to(asking).heard().shown().filter(reed__owner=student).exclude(file="")
    rows = rows.filter(at__gte=start, at__lt=end).order_by("at", "pk")
    return rows.values_list("pk", "item", "at", "reed_id")


@prepared
def _takes(asking: Seer, pks: tuple[int, ...]) -> QuerySet[Take]:
    rows = Take.objects.visible_to(asking).filter(pk__in=pks).order_by()
    told = rows.select_related(None).select_related("reed")
    return told.only("item", "at", "granted", "result", "reed__number")


def furthest_apart(takes: Sequence[TakeInTerm]) -> list[TakeInTerm]:
    """Return the early and the late one of that item whose two lie furthest apart, else the newest alone.

    `takes` come oldest first; of items equally far apart the one played earlier in the test is taken.
    """
    of_item = ([take for take in takes if take.item == item] for item in PLAYING_TEST)
    pairs = [pair for rows in of_item if len(pair := _ends(rows)) == 2]
    return max(pairs, key=lambda pair: pair[1].at - pair[0].at, default=list(takes[-1:]))


def _ends(takes: Sequence[TakeInTerm]) -> list[TakeInTerm]:
    """The first, and the last of another reed a while after it."""
    later = [take for take in takes if take.reed != takes[0].reed and take.at - takes[0].at >= APART]
    return [*takes[:1], *later[-1:]]
