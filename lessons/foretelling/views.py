"""What a blank foretells: for teachers, and for students where their studio allows it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from reeds.numbers.late import Late
from studio.access import MemberRequest

if TYPE_CHECKING:
    from lessons.foretelling import pages
else:
    pages = Late("lessons.foretelling.pages")


@require_safe
def foretelling(request: MemberRequest) -> HttpResponse:
    """Show the chances of the blanks at rest; a student sees their own, and only where that is allowed."""
    member = request.member
    if not (member.teaches or member.studio.foretells_to_students):
        raise Http404
    return render(request, "lessons/foretelling/foretelling.html", {"page": pages.ForetellingPage(member)})
