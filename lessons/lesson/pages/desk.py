"""What lies on a student's desk: rounds by what is to be done with them, what is to be made, the next lesson.

Each list comes in parts of a few: of what waits, or was answered and not read, there may be hundreds.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import F, Q, QuerySet
from django.db.models.functions import Coalesce
from django.http import QueryDict

from lessons.answering.models import Answer, Decision
from lessons.lesson.models import Lesson, SetWork
from lessons.sending.models import NEW, Submission, SubmissionQuerySet
from studio.access import Seer
from studio.counting import how_many
from studio.further import A_FEW, Part, part_at_hand
from studio.models import Member
from studio.prepared import prepared

# what is to be done with a round; its list's name in an address
KINDS = ("new", "begun", "sent")
DECISIONS = dict(Decision.choices)


class Round(NamedTuple):
    """A round as its row says it; `photos` are counted of a draft alone."""

    pk: int
    reed: int
    number: int
    stage: str
    round: int
    sent_at: dt.datetime | None
    answered_at: dt.datetime | None
    photos: int


class Said(NamedTuple):
    """What a teacher decided, and the one next step."""

    decision: str
    next_step: str


class Work(NamedTuple):
    """What is still to be made: how many reeds are asked for, and how many came of it."""

    pk: int
    words: str
    due_on: dt.date | None
    asked: int
    made: int


@dataclass(frozen=True)
class Desk:
    """A student's rounds, sorted by what is to be done with them, and what was said to those answered."""

    new: Part[Round]
    begun: Part[Round]
    waiting: Part[Round]
    answered: list[Round]
    said: dict[int, list[Said]]
    # all rounds whose answer is not read, shown or not
    not_read: list[int]

    @property
    def is_empty(self) -> bool:
        """Whether nothing was ever begun or sent: then the desk shows the way."""
        return not self.rounds

    @property
    def rounds(self) -> list[Round]:
        """All that are shown."""
        return [*self.new.rows, *self.begun.rows, *self.waiting.rows, *self.answered]


def desk_of(member: Member, asked: QueryDict) -> Desk:
    """Return what is begun, waits or is not read yet, in the parts an address asks for, and what was read.

    However much a student was ever answered, no more of what was read is fetched than is shown.
    """
    lying: dict[str, list[int]] = {kind: [] for kind in KINDS}
    for pk, kind in _lying(member):
        lying[kind].append(pk)
    parts = [part_at_hand(lying[kind], asked, kind, A_FEW) for kind in KINDS]
    read = _read(member)
    pks = (*(pk for part in parts for pk in part.rows), *read)
    rounds = {row[0]: Round(*row) for row in _rounds(member, pks)}
    new, begun, waiting = (part.showing([rounds[pk] for pk in part.rows]) for part in parts)
    answered = (*parts[0].rows, *read)
    last = [rounds[pk] for pk in read]
    return Desk(new, begun, waiting, last, _said_to(member, answered), lying["new"])


def _said_to(member: Seer, rounds: tuple[int, ...]) -> dict[int, list[Said]]:
    said: dict[int, list[Said]] = defaultdict(list)
    for submission, decision, next_step in _said(member, rounds):
        said[submission].append(Said(str(DECISIONS.get(decision, decision)), next_step))
    return said


def _own(member: Seer) -> SubmissionQuerySet:
    return Submission.objects.visible_to(member).filter(student=member.pk, answered_with__isnull=True)


@prepared
def _lying(member: Seer) -> QuerySet[Submission, tuple[int, str]]:
    """Find what is to be done, and of which kind it is; the newest first."""
    rows = _own(member).filter(Q(answered_at__isnull=True) | NEW).with_what_is_to_be_done()
    newest = rows.order_by(Coalesce("answered_at", "sent_at", "started_at").desc(), "-pk")
    return newest.exclude(to_do="").values_list("pk", "to_do")  # type: ignore[misc]  # of the line before


@prepared
def _read(member: Seer) -> QuerySet[Submission, int]:
    read = _own(member).filter(answered_at__isnull=False).exclude(NEW).order_by("-answered_at")
    return read.values_list("pk", flat=True)[:A_FEW]


@prepared
def _rounds(member: Seer, pks: tuple[int, ...]) -> QuerySet[Submission, tuple[Any, ...]]:
    of_reed = ("reed", "reed__number", "reed__stage")
    rows = (
        Submission.objects.visible_to(member)
        .filter(pk__in=pks)
        .order_by()
        .annotate(n=how_many(Submission, "photos"))
    )
    return rows.values_list("pk", *of_reed, "round", "sent_at", "answered_at", "n")


@prepared
def _said(member: Seer, rounds: tuple[int, ...]) -> QuerySet[Answer, tuple[int, str, str]]:
    rows = Answer.objects.visible_to(member).sent().filter(submission__in=rounds)
    return rows.values_list("submission", "decision", "next_step")


def work_for(member: Seer, since: dt.date) -> list[Work]:
    """Return what is still to be made by this student: what is due first, first."""
    return [Work(*row) for row in _work(member, since)]


@prepared
def _work(member: Seer, since: dt.date) -> QuerySet[SetWork, tuple[Any, ...]]:
    rows = SetWork.objects.visible_to(member).filter(student=member.pk).still_asked(since)
    due_first = rows.counted().order_by(F("due_on").asc(nulls_last=True), "pk")
    return due_first.values_list("pk", "words", "due_on", "count", "made")  # type: ignore[misc]  # of `counted`


@prepared
def next_lesson(member: Seer, now: dt.datetime) -> QuerySet[Lesson]:
    """Find the lesson to come."""
    return Lesson.objects.visible_to(member).filter(at__gte=now).only("at", "time_zone").order_by("at")[:1]
