"""Letters on the pages of a term, which must not know of them."""

from __future__ import annotations

from django import template
from django.db.models import QuerySet
from django.template import Context

from lessons.letter.models import Letter
from studio.access import Seer
from studio.models import Member, Term
from studio.prepared import prepared

register = template.Library()


@register.inclusion_tag("lessons/letter/_on_term.html", takes_context=True)
def letters_of_term(context: Context, term: Term, student: Member | None) -> dict[str, object]:
    """Lead to a student's letter of the term; without a student, to the letters of all."""
    request = context["request"]
    page: dict[str, object] = {"request": request, "term": term, "student": student}
    if student is not None and not student.teaches:
        rows = _letters(request.member, student.pk, term.pk)
        page["given"] = next((one for one in rows if one.given_at), None)
        page["draft"] = next((one for one in rows if not one.given_at), None)
    return page


@prepared
def _letters(asking: Seer, student: int, term: int) -> QuerySet[Letter]:
    return Letter.objects.visible_to(asking).of(student, term).only("given_at")
