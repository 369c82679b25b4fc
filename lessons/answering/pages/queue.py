"""What the queue shows: the reeds that wait, each with why it stands where it stands, and who has it."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from django.db.models import F, FilteredRelation, Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.answering.pages.unread import Unread
from lessons.sending import need
from lessons.sending.models import Submission
from lessons.sending.placed import Placed, Round, placed
from reeds.reed.models.reed import STAGE_CHOICES
from studio.access import Seer
from studio.models import NAMING, Member
from studio.prepared import prepared

Batches = dict[int, list[int]]
# what a row carries of the teacher who has it
HAD_BY = ("had_by", "had_by_name", "had_by_username")
STAGES = dict(STAGE_CHOICES)
READ = (
    *("question", "findings"),
    *("student__under_age", "student__guardian_consent_withdrawn_at"),
    *(f"student__{name}" for name in NAMING),
)


class Having(NamedTuple):
    """A teacher who has a round."""

    pk: int
    name: str


@dataclass(frozen=True)
class Line:
    """One reed that waits; `thumb` is the address of a photo, `having` the teachers who have it."""

    round: Submission
    place: Placed
    member: Member
    batch: list[int]
    having: list[Having] = field(default_factory=list)

    @cached_property
    def who(self) -> str:
        return str(self.round.student)

    @cached_property
    def number(self) -> str:
        """The reed's."""
        return str(self.place.newest.reed_number)

    @property
    def key(self) -> str:
        """What is sent where it is chosen."""
        return str(self.place.pk)

    @property
    def choose(self) -> str:
        """What its box is called."""
        return _("Choose reed %(n)s of %(who)s") % {"n": self.number, "who": self.who}

    @property
    def about(self) -> str:
        """The stage, which round it is where there were others, and whether an older one waits too."""
        newest = self.place.newest
        told = str(STAGES[newest.stage]) if newest.stage else ""
        if newest.round > 1:
            told += " · " + _("round %(n)s") % {"n": newest.round}
        has_older = self.place.waiting.waits_since < newest.sent_at
        return told + " " + _("and an older one") if has_older else told

    @property
    def why(self) -> str:
        """Why it stands where it stands."""
        return " · ".join(need.reasons(self.place.waiting, self.round.outcomes, timezone.now()))

    @property
    def is_hidden(self) -> bool:
        return self.round.student.hidden_since is not None

    @cached_property
    def thumb(self) -> str:
        """The address of its first photo, '' where there is none to be seen."""
        photo = None if self.is_hidden else vars(self.round)["thumb"]
        return self.member.to("reeds:photo", photo, "thumbnail") if photo else ""

    @property
    def review(self) -> str:
        return self.member.to("lessons:review", self.place.pk)

    @property
    def claim(self) -> str:
        return self.member.to("lessons:claim", self.place.pk)

    @property
    def is_mine(self) -> bool:
        return any(one.pk == self.member.pk for one in self.having)


def waiting_line(member: Member, unread: Iterable[Unread]) -> list[Placed]:
    """Return the reeds that wait with the greatest need first (need.py); one stands for all its rounds.

    `unread` is what was said back and nobody has read.
    """
    now, said_back = timezone.now(), {one.reed_id for one in unread}
    until = now + need.LESSONS_WITHIN * need.DAY
    return placed(map(Round._make, _to_place(member, now, until)), said_back, now)


@prepared
def _to_place(member: Seer, now: dt.datetime, until: dt.datetime) -> QuerySet[Submission, tuple[Any, ...]]:
    return Submission.objects.visible_to(member).to_place(now, until)


def alike_in(line: Iterable[Placed]) -> Batches:
    """Return for each round that waits those of its batch and stage, itself first, if there are others."""
    batches: dict[object, list[int]] = defaultdict(list)
    for one in sorted((place.newest for place in line), key=lambda newest: newest.reed_number):
        batches[one.owner, one.batch, one.stage].append(one.pk)
    several = [pks for pks in batches.values() if len(pks) > 1]
    return {pk: [pk, *(other for other in pks if other != pk)] for pks in several for pk in pks}


def lines(member: Member, places: Sequence[Placed], alike: Batches) -> list[Line]:
    """Return what is shown of these places, in their order."""
    of = {place.pk: place for place in places}
    shown: dict[int, Line] = {}
    for row in _rounds(member, tuple(of)) if of else []:
        line = shown.setdefault(row.pk, Line(row, of[row.pk], member, alike.get(row.pk, [])))
        pk, name, username = (vars(row)[column] for column in HAD_BY)
        if pk:
            line.having.append(Having(pk, name or username))
    return [shown[place.pk] for place in places if place.pk in shown]


@prepared
def _rounds(member: Seer, pks: tuple[int, ...]) -> QuerySet[Submission]:
    """One row for each teacher who has a round, and one where nobody has it."""
    rows = Submission.objects.visible_to(member).filter(pk__in=pks).select_related("student__person")
    had = FilteredRelation("looking", condition=Q(looking__has_it=True))
    carrying = (
        rows.with_thumb()
        .annotate(had=had)
        .annotate(
            had_by=F("had__member"),
            had_by_name=F("had__member__person__name"),
            had_by_username=F("had__member__person__username"),
        )
    )
    return carrying.only(*READ).order_by("pk", "had__pk")
