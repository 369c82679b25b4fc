"""What lies on a student's desk: rounds by what is to be done with them, blanks that rested enough."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from lessons.answering.models import Answer
from lessons.answering.pages.unread import Unread
from lessons.lesson.models import Lesson, SetWork
from lessons.sending.models import NEW, Submission, SubmissionQuerySet
from reeds.reed.models.reed import Reed
from reeds.reed.pages import least_rest
from reeds.sheet.models.own import known_to
from reeds.sheet.models.pattern import PatternVersion
from studio.access import Seer
from studio.models import Member
from studio.prepared import prepared

# so many of the answers that were read
SHOWN = 12


@dataclass(frozen=True)
class Desk:
    """A student's rounds, sorted by what is to be done with them."""

    begun: list[Submission]
    waiting: list[Submission]
    new: list[Submission]
    answered: list[Submission]

    @property
    def is_empty(self) -> bool:
        """Whether nothing was ever begun or sent: then the desk shows the way."""
        return not (self.begun or self.waiting or self.new or self.answered)

    @property
    def reeds(self) -> list[Reed]:
        """The reeds of all of them, one for each round."""
        return [row.reed for row in [*self.begun, *self.waiting, *self.new, *self.answered]]

    def unread(self, said_back: Iterable[Unread]) -> int:
        """Return in how many rounds something is unread: what `Submission.objects.unread_by` would count."""
        return len({row.pk for row in self.new} | {one.submission.pk for one in said_back})


def rounds_of(member: Member) -> list[Submission]:
    """Return what `on_the_desk` sorts: what is begun, waits or is not read yet, and the last that were read.

    However much a student was ever answered, no more of it is fetched than is shown.
    """
    rows = [*_still_open(member), *_read(member)]
    said: dict[int, list[Answer]] = {row.pk: [] for row in rows}
    for answer in _said(member, tuple(said)):
        said[answer.submission_id].append(answer)
    for row in rows:
        row.said = said[row.pk]  # type: ignore[attr-defined]  # for the page
    return rows


def _own(member: Seer) -> SubmissionQuerySet:
    """Their rounds, with what the desk shows of each."""
    rows = Submission.objects.visible_to(member).filter(student=member.pk).select_related("reed")
    times = ("sent_at", "answered_at", "answered_with", "read_at")
    return rows.only("round", *times, "reed__number", "reed__stage")


@prepared
def _still_open(member: Seer) -> QuerySet[Submission]:
    return _own(member).filter(Q(answered_at__isnull=True) | NEW).with_something()


@prepared
def _read(member: Seer) -> QuerySet[Submission]:
    read = _own(member).filter(answered_at__isnull=False, answered_with__isnull=True).exclude(NEW)
    return read.order_by("-answered_at")[:SHOWN]


@prepared
def _said(member: Seer, rounds: tuple[int, ...]) -> QuerySet[Answer]:
    rows = Answer.objects.visible_to(member).sent().filter(submission__in=rounds)
    return rows.only("submission", "decision", "next_step")


def on_the_desk(rounds: Iterable[Submission]) -> Desk:
    """Sort rounds: begun, waiting, answered and not yet read, answered and read.

    What was folded under a newer round of its reed, and waits or was answered with it, is that one's to show.
    """
    rows = [row for row in rounds if row.answered_with_id is None]
    answered = sorted((row for row in rows if row.answered_at), key=_when_answered, reverse=True)
    foremost = {row.reed_id: row for row in sorted(rows, key=lambda row: row.round) if row.is_waiting}
    return Desk(
        begun=[row for row in rows if row.sent_at is None],
        waiting=[row for row in rows if row in foremost.values()],
        new=[row for row in answered if row.is_new],
        answered=[row for row in answered if not row.is_new][:SHOWN],
    )


def _when_answered(row: Submission) -> float:
    return row.answered_at.timestamp() if row.answered_at else 0.0


def ready_blanks(member: Member) -> list[Reed]:
    """Return their own blanks that rested as long as their sheet asks, one night where it asks nothing."""
    blanks = _blanks(member)
    if not blanks:
        return []
    versions = {row.pk: row for row in _versions(member, tuple({reed.version_id for reed in blanks}))}
    known = known_to(member)
    sheets = {pk: version.sheet_in(known) for pk, version in versions.items()}
    return [reed for reed in blanks if reed.rested >= least_rest(reed, known, sheets)]


@prepared
def _blanks(member: Seer) -> QuerySet[Reed]:
    rows = Reed.objects.visible_to(member).at_rest().filter(owner=member.pk)
    return rows.only("number", "stage_since", "version", "staple_length", "flexibility")


@prepared
def _versions(member: Seer, pks: tuple[int, ...]) -> QuerySet[PatternVersion]:
    return PatternVersion.objects.visible_to(member).filter(pk__in=pks).only("data").order_by()


@prepared
def work_for(member: Seer, since: dt.date) -> QuerySet[SetWork]:
    """Find what is still to be made by this student, with how many reeds came of it."""
    rows = SetWork.objects.visible_to(member).filter(student=member.pk).still_asked(since)
    return rows.counted().only("words", "due_on", "count")


@prepared
def next_lesson(member: Seer, now: dt.datetime) -> QuerySet[Lesson]:
    """Find the lesson to come."""
    return Lesson.objects.visible_to(member).filter(at__gte=now).only("at", "time_zone").order_by("at")[:1]
