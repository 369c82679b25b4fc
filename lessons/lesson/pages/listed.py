"""Who was there, beside each of many lessons: two queries for all of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from lessons.lesson.models import Lesson
from studio.models import NAMING, Member


def with_names(member: Member, lessons: Iterable[Lesson]) -> None:
    """Give each lesson as `names` those who were there, by name."""
    by_key = {lesson.pk: lesson for lesson in lessons}
    rows = Lesson.objects.visible_to(member).filter(pk__in=by_key, present__isnull=False)
    there: dict[int, list[int]] = defaultdict(list)
    for lesson, who in rows.order_by().values_list("pk", "present"):
        there[who].append(lesson)
    people = Member.objects.visible_to(member).filter(pk__in=there).select_related("person")
    for one in people.only(*NAMING):
        for key in there[one.pk]:
            by_key[key].names += (str(one),)
