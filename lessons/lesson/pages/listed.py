"""Lists of lessons and of the work set in them, and who was there: two queries for many lessons."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from django.db.models import QuerySet

from lessons.lesson.models import Lesson, SetWork
from studio.access import Seer
from studio.further import HALF, in_parts
from studio.models import NAMING, Member, called
from studio.prepared import prepared

OF_OPEN_WORK = ("words", "count", "due_on", "done_at", *(f"student__{name}" for name in NAMING))


def _coming(member: Seer, now: dt.datetime) -> QuerySet[Lesson]:
    rows = Lesson.objects.visible_to(member).filter(at__gte=now)
    return rows.only("at", "time_zone").order_by("at", "pk")


def _past(member: Seer, now: dt.datetime) -> QuerySet[Lesson]:
    rows = Lesson.objects.visible_to(member).filter(at__lt=now)
    return rows.only("at", "time_zone").order_by("-at", "-pk")


def _open_work(member: Seer) -> QuerySet[SetWork]:
    rows = SetWork.objects.visible_to(member).filter(done_at__isnull=True).select_related("student__person")
    return rows.counted().only(*OF_OPEN_WORK)


coming_of = in_parts(_coming, HALF)
past_of = in_parts(_past, HALF)
open_work_of = in_parts(_open_work, HALF)


def with_names(member: Member, lessons: Iterable[Lesson]) -> None:
    """Give each lesson as `names` those who were there, by name."""
    by_key = {lesson.pk: lesson for lesson in lessons}
    there: dict[int, list[int]] = defaultdict(list)
    for lesson, who in _there(member, tuple(by_key)):
        there[who].append(lesson)
    for pk, *naming in _named(member, tuple(there)):
        for key in there[pk]:
            by_key[key].names += (called(pk, *naming),)


@prepared
def _there(member: Seer, lessons: tuple[int, ...]) -> QuerySet[Lesson, tuple[int, int]]:
    rows = Lesson.objects.visible_to(member).filter(pk__in=lessons, present__isnull=False)
    return rows.order_by().values_list("pk", "present")


@prepared
def _named(member: Seer, people: tuple[int, ...]) -> QuerySet[Member, tuple[Any, ...]]:
    return Member.objects.visible_to(member).filter(pk__in=people).values_list("pk", *NAMING)
