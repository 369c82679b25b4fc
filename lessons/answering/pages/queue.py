"""What the queue shows: the reeds that wait, each with why it stands where it stands, and who has it."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from django.db.models import F, FilteredRelation, OuterRef, Q, Subquery
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.answering.pages.unread import Unread
from lessons.sending import need
from lessons.sending.models import Submission, SubmissionQuerySet
from lessons.sending.placed import Placed
from reeds.photo.models.photo import Photo, PhotoState
from studio.models import NAMING, Member

Batches = dict[int, list[int]]
READ = (
    *("round", "stage", "question", "findings"),
    *("student__under_age", "student__guardian_consent_withdrawn_at"),
    *(f"student__{name}" for name in NAMING),
)


@dataclass(frozen=True)
class Line:
    """One reed that waits; `thumb` is a photo, `having` the teachers who have it, each by number and name."""

    round: Submission
    place: Placed
    reasons: list[str]
    thumb: int | None
    batch: list[int]
    having: list[tuple[int, str]] = field(default_factory=list)

    @property
    def choose(self) -> str:
        """What its box is called."""
        told = {"n": self.place.newest.reed_number, "who": self.round.student}
        return _("Choose reed %(n)s of %(who)s") % told

    @property
    def about(self) -> str:
        """The stage, which round it is where there were others, and whether an older one waits too."""
        told = self.round.get_stage_display()
        if self.round.round > 1:
            told += " · " + _("round %(n)s") % {"n": self.round.round}
        has_older = self.place.waiting.waits_since < self.place.newest.sent_at
        return f"{told} {_('and an older one')}" if has_older else told


def waiting_line(member: Member, unread: Iterable[Unread]) -> list[Placed]:
    """Return all that waits in the order of need; `unread` is what was said back and nobody has read."""
    said_back = {one.submission.reed_id for one in unread}
    return Submission.objects.visible_to(member).in_order_of_need(said_back)


def alike_in(line: Iterable[Placed]) -> Batches:
    """Return for each round that waits those of its batch and stage, itself first, if there are others."""
    batches: dict[object, list[int]] = defaultdict(list)
    for one in sorted((place.newest for place in line), key=lambda newest: newest.reed_number):
        batches[one.owner, one.batch, one.stage].append(one.pk)
    several = [pks for pks in batches.values() if len(pks) > 1]
    return {pk: [pk, *(other for other in pks if other != pk)] for pks in several for pk in pks}


def lines(member: Member, places: Sequence[Placed], alike: Batches) -> list[Line]:
    """Return what is shown of these places, in their order."""
    now = timezone.now()
    of = {place.pk: place for place in places}
    shown: dict[int, Line] = {}
    for row in _rounds(member, list(of)):
        line = shown.setdefault(row.pk, _line(row, of[row.pk], alike, now))
        if row.had_by:
            line.having.append((row.had_by, row.had_by_name or row.had_by_username))
    return [shown[place.pk] for place in places if place.pk in shown]


def _line(row: Submission, place: Placed, alike: Batches, now: dt.datetime) -> Line:
    reasons = need.reasons(place.waiting, row.found, now)
    return Line(row, place, reasons, row.thumb, alike.get(row.pk, []))  # type: ignore[attr-defined]  # as `_rounds` has it


def _rounds(member: Member, pks: list[int]) -> SubmissionQuerySet:
    """One row for each teacher who has a round, and one where nobody has it."""
    ready = Photo.objects.visible_to(member).shown().filter(state=PhotoState.READY)
    first = ready.filter(submissions=OuterRef("pk")).order_by("sent_at", "pk").values("pk")[:1]
    rows = Submission.objects.visible_to(member).filter(pk__in=pks).select_related("student__person")
    had = FilteredRelation("looking", condition=Q(looking__has_it=True))
    carrying: SubmissionQuerySet = rows.annotate(had=had).annotate(
        thumb=Subquery(first),
        had_by=F("had__member"),
        had_by_name=F("had__member__person__name"),
        had_by_username=F("had__member__person__username"),
    )
    return carrying.only(*READ).order_by("pk", "had__pk")
