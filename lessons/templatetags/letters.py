"""Letters on the pages of a term, which must not know of them."""

from __future__ import annotations

from django import template
from django.template import Context

from lessons.letter.models import Letter
from studio.models import Member, Term

register = template.Library()


@register.inclusion_tag("lessons/letter/_on_term.html", takes_context=True)
def letters_of_term(context: Context, term: Term, student: Member | None) -> dict[str, object]:
    """Lead to a student's letter of the term; without a student, to the letters of all."""
    request = context["request"]
    page: dict[str, object] = {"request": request, "term": term, "student": student}
    if student is not None and not student.teaches:
        rows = Letter.objects.visible_to(request.member).of(student, term)
        page |= {"given": rows.given().first(), "draft": rows.drafts().first()}
    return page
