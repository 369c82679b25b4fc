"""Lessons and the work set in them; each function is one transaction."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from django.db import transaction
from django.utils import timezone

from lessons.lesson.models import Lesson, SetWork
from reeds.reed.models.reed import Reed
from studio.models import Member


@transaction.atomic
def keep_lesson(
    lesson: Lesson, by: Member, present: Iterable[Member], also_at: Iterable[dt.datetime] = ()
) -> Lesson:
    """Keep a new or changed lesson and who was there; the same again, without notes, at the other times."""
    lesson.studio = by.studio
    lesson.held_by = lesson.held_by or by
    lesson.save()
    lesson.present.set(present)
    for at in also_at:
        again = Lesson.objects.create(
            studio=by.studio, at=at, time_zone=lesson.time_zone, held_by=lesson.held_by
        )
        again.present.set(present)
    return lesson


@transaction.atomic
def set_work(
    work: SetWork, by: Member, students: Iterable[Member], lesson: Lesson | None = None
) -> list[SetWork]:
    """Set the same work to each of the students, a row each."""
    made = []
    for student in students:
        work.pk, work._state.adding = None, True
        work.studio, work.student, work.lesson = by.studio, student, lesson
        work.save()
        made.append(SetWork.objects.get(pk=work.pk))
    return made


@transaction.atomic
def choose_reeds(work: SetWork, reeds: Iterable[Reed]) -> None:
    """Say which reeds came of the work; it is done when there are as many as were asked for."""
    work.reeds.set(reeds)
    enough = work.reeds.count() >= work.count
    work.done_at = (work.done_at or timezone.now()) if enough else None
    work.save(update_fields=["done_at"])
