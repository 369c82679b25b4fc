"""What a lesson gathers, student by student: what is brought, what is open, what was said, set and agreed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Q
from django.utils import timezone

from lessons.answering.models import Answer, Decision, Reply
from lessons.lesson.models import Lesson, SetWork
from lessons.sending.models import Submission
from studio.access import StudioQuerySet
from studio.models import Member

EARLIEST = dt.datetime.min.replace(tzinfo=dt.UTC)


@dataclass(frozen=True)
class Gathered:
    """What lies before one student's lesson; of a lesson that was, as it lay then.

    It goes back to the lesson before: what was said earlier belonged to that one.
    """

    lesson: Lesson
    student: Member
    member: Member

    @cached_property
    def before(self) -> Lesson | None:
        """The student's lesson before this one."""
        rows = Lesson.objects.visible_to(self.member).filter(present=self.student, at__lt=self.lesson.at)
        return rows.order_by("-at").first()

    @property
    def since(self) -> dt.datetime:
        """From when on what happened belongs to this lesson."""
        return self.before.at if self.before else EARLIEST

    @cached_property
    def brought(self) -> list[Answer]:
        """Of each reed the last answer before the lesson, where it asks to bring the reed."""
        rows = Answer.objects.visible_to(self.member).sent().filter(submission__student=self.student)
        lately = rows.filter(sent_at__gt=self.since, sent_at__lte=self.lesson.at)
        last = {one.submission.reed_id: one for one in lately.with_reeds().order_by("sent_at", "pk")}
        brought = [one for one in last.values() if one.decision == Decision.BRING]
        return sorted(brought, key=lambda one: one.submission.reed.number)

    @cached_property
    def open_rounds(self) -> list[Submission]:
        """The rounds that waited for an answer when the lesson came, the newest of each reed."""
        rows = Submission.objects.visible_to(self.member).sent().filter(student=self.student)
        open_then = Q(answered_at__isnull=True) | Q(answered_at__gt=self.lesson.at)
        waiting = rows.filter(open_then, sent_at__lte=self.lesson.at)
        newest = {row.reed_id: row for row in waiting.select_related("reed").order_by("round")}
        return sorted(newest.values(), key=lambda row: row.sent_at or timezone.now())

    @cached_property
    def replies(self) -> list[Reply]:
        """What was said back since the lesson before, oldest first."""
        rows = Reply.objects.visible_to(self.member).filter(submission__student=self.student)
        rows = rows.filter(submission__reed__taken_out_at__isnull=True)
        lately = rows.filter(at__gt=self.since, at__lte=self.lesson.at)
        return list(lately.select_related("by__person", "submission__reed"))

    @cached_property
    def to_look_at(self) -> list[SetWork]:
        """The work that was set before: what was still open, and what was done since the lesson before."""
        rows = self._work.filter(set_at__lt=self.lesson.at).exclude(lesson=self.lesson)
        return list(rows.filter(Q(done_at__isnull=True) | Q(done_at__gt=self.since)))

    @cached_property
    def set_here(self) -> list[SetWork]:
        """The work that was set in this lesson."""
        return list(self._work.filter(lesson=self.lesson))

    @property
    def _work(self) -> StudioQuerySet[SetWork]:
        rows = SetWork.objects.visible_to(self.member).filter(student=self.student)
        return rows.select_related("pattern").prefetch_related("reeds")


def gathered(lesson: Lesson, member: Member) -> list[Gathered]:
    """Return what a lesson gathers of each student who is there; a student is given only their own."""
    there = lesson.present.select_related("person") if member.teaches else [member]
    return [Gathered(lesson, student, member) for student in there]
