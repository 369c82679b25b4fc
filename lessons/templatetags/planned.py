"""What pages of other nouns say of planned comparisons: a student's desk, and what a teacher begins with."""

from __future__ import annotations

from django import template
from django.template import Context

from lessons.comparison.pages.desk import on_the_desk
from lessons.comparison.pages.due import due_for

register = template.Library()


@register.inclusion_tag("lessons/comparison/_on_the_desk.html", takes_context=True)
def planned_for_me(context: Context) -> dict[str, object]:
    """Show which of the asking student's blanks goes which way."""
    request = context["request"]
    return {"request": request, "comparisons": on_the_desk(request.member)}


@register.inclusion_tag("lessons/comparison/_due.html", takes_context=True)
def due_comparisons(context: Context) -> dict[str, object]:
    """Show which comparisons are over and were not read yet, to who teaches."""
    request = context["request"]
    return {"request": request, "comparisons": due_for(request.member)}
