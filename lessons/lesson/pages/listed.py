"""Who was there, beside each of many lessons: two queries for all of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from lessons.lesson.models import Lesson
from studio.models import Member


def with_names(member: Member, lessons: Iterable[Lesson]) -> None:
    """Give each lesson as `names` those who were there, by name."""
    by_key = {lesson.pk: lesson for lesson in lessons}
    pairs = Lesson.present.through.objects.filter(lesson__in=by_key).values_list("member_id", "lesson_id")
    there: dict[int, list[int]] = defaultdict(list)
    for one, lesson in pairs:
        there[one].append(lesson)
    people = Member.objects.visible_to(member).filter(pk__in=there).select_related("person")
    for one in people.only("erased_at", "person__name", "person__username"):
        name = str(one)
        for key in there[one.pk]:
            by_key[key].names += (name,)
