"""The letters of a studio's term, student by student; for a student, their own."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Q

from lessons.letter.models import Letter
from studio.asked import term_asked
from studio.models import Member, Role, Term


@dataclass(frozen=True)
class OfStudent:
    """A student, and their letters of the term, the newest version first."""

    student: Member
    letters: list[Letter]

    @property
    def draft(self) -> Letter | None:
        return next((one for one in self.letters if one.is_draft), None)

    @property
    def given(self) -> Letter | None:
        return next((one for one in self.letters if not one.is_draft), None)


def listed(member: Member, asked: str) -> dict[str, object]:
    """Return what the page of letters shows; 404 for a term that is not one of the studio's."""
    if not member.teaches:
        own = Letter.objects.visible_to(member).select_related("student__person")
        return {"letters": own.order_by("-starts_on", "-version")}
    terms = Term.objects.visible_to(member).select_related("studio")
    term = term_asked(member, asked)
    return {"terms": terms, "term": term, "rows": rows_of(member, term) if term else []}


def rows_of(member: Member, term: Term) -> list[OfStudent]:
    """Every student who was there on a day of the term, those too who left since."""
    start, end = term.span
    there = Q(joined_at__lt=end) | Q(reeds__made_at__lt=end)  # reeds brought in can be older than the member
    students = Member.objects.visible_to(member).filter(there, role=Role.STUDENT).distinct()
    students = students.exclude(left_at__lt=start).select_related("person")
    letters = Letter.objects.visible_to(member).filter(term=term).order_by("-version")
    by_student: dict[int, list[Letter]] = {}
    for letter in letters.select_related("student__person"):
        by_student.setdefault(letter.student_id, []).append(letter)
    return [OfStudent(one, by_student.get(one.pk, [])) for one in students]
