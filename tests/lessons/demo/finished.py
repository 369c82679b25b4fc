"""The demo's finished term alone, in a studio of its own: quickly made, for what reads a term."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.utils import timezone

from lessons.demo.histories import DAYS_SO_FAR
from lessons.demo.in_bulk import write_finished_term
from lessons.demo.truth import MAKERS, TERM, Maker
from lessons.demo.unsaved import DemoStudio
from reeds.photo.actions.card import new_card
from studio.models import Member, Studio, Term
from tests import factories as make


@dataclass(frozen=True)
class Finished:
    """The term, its teacher, and its students by user name."""

    term: Term
    teacher: Member
    students: dict[str, Member]

    def of(self, maker: Maker) -> Member:
        return self.students[maker.username]


def finished_term(studio: Studio | None = None) -> Finished:
    """Write the finished term for a studio and return it."""
    teacher = make.teacher(studio=studio or make.StudioFactory())
    students = [make.student(studio=teacher.studio, person__username=maker.username) for maker in MAKERS]
    first = timezone.now().astimezone(teacher.studio.zone).date() - dt.timedelta(days=DAYS_SO_FAR)
    version = make.VersionFactory(pattern__studio=teacher.studio)
    starts = dt.datetime.combine(first, dt.time(), teacher.studio.zone)
    write_finished_term(DemoStudio(teacher.studio, teacher, version, starts, new_card(teacher)), students)
    by_name = {student.person.username: student for student in students}
    return Finished(Term.objects.get(studio=teacher.studio, name=TERM), teacher, by_name)
