"""Whose term it is: the students of a studio, and who stands beside whom."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import QuerySet

from lessons.term.rows import TermRows
from studio.access import Seer
from studio.models import Member, Role
from studio.prepared import prepared


def students_of(rows: TermRows) -> list[Member]:
    """Return the studio's students by name: those of today, and those who were there then and have left."""
    there = {reed.student for reed in rows.reeds} | {wait.student for wait in rows.waits}
    return [one for one in _members(rows.asking) if one.left_at is None or one.pk in there]


@prepared
def _members(asking: Seer) -> QuerySet[Member]:
    return Member.objects.visible_to(asking).filter(role=Role.STUDENT).select_related("person")


@dataclass(frozen=True)
class Beside:
    """Who comes before and after a student, to turn from one to the next."""

    before: Member | None
    after: Member | None

    @classmethod
    def of(cls, student: Member, students: Sequence[Member]) -> Beside:
        """Find the neighbours in the order given; none of somebody who is not among them."""
        row = [None, *students, None]
        place = next((k for k, one in enumerate(row) if one == student), None)
        return cls(None, None) if place is None else cls(row[place - 1], row[place + 1])
