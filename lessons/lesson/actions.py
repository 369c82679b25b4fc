"""Lessons and the work set in them; each function is one transaction."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.lesson.models import Lesson, LessonNote, SetWork
from reeds.reed.actions import make_reeds
from reeds.reed.models.reed import Reed
from studio.errors import NotPossible
from studio.models import Member

MAX_NOTE = 5000
MAX_STEP = 500


@transaction.atomic
def keep_lesson(
    lesson: Lesson,
    by: Member,
    present: Iterable[Member],
    *,
    also_at: Iterable[dt.datetime] = (),
    first_note: str = "",
) -> Lesson:
    """Keep a new or changed lesson and who was there; the same again, without a note, at the other times."""
    lesson.studio = by.studio
    lesson.held_by = lesson.held_by or by
    lesson.save()
    lesson.present.set(present)
    if first_note.strip():
        add_note(lesson, by, first_note, uuid.uuid4())
    for at in also_at:
        again = Lesson.objects.create(
            studio=by.studio, at=at, time_zone=lesson.time_zone, held_by=lesson.held_by
        )
        again.present.set(present)
    return lesson


def add_note(lesson: Lesson, by: Member, words: str, key: uuid.UUID) -> None:
    """Note something of a lesson; the same key twice notes it once."""
    if not words.strip():
        raise NotPossible(_("Write something first."))
    if len(words) > MAX_NOTE:
        raise NotPossible(_("A note holds up to 5000 letters: write it in two."))
    LessonNote.objects.get_or_create(
        studio_id=lesson.studio_id, lesson=lesson, key=key, defaults={"by": by, "words": words.strip()}
    )


def agree(lesson: Lesson, step: str) -> None:
    """Keep the one step that was agreed until the next lesson; none takes it away."""
    step = " ".join(step.split())
    if len(step) > MAX_STEP:
        raise NotPossible(_("The step is one sentence: up to 500 letters."))
    Lesson.objects.filter(pk=lesson.pk).update(agreed=step)


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
    _is_done(work)


@transaction.atomic
def make_for(work: SetWork, reed: Reed, by: Member, count: int, first: int | None) -> list[Reed]:
    """Make reeds like the unsaved `reed` for the work, and tie them to it, see `make_reeds`."""
    made = make_reeds(reed, by, count, first)
    work.reeds.add(*made)
    _is_done(work)
    return made


def _is_done(work: SetWork) -> None:
    enough = work.reeds.count() >= work.count
    work.done_at = (work.done_at or timezone.now()) if enough else None
    work.save(update_fields=["done_at"])
