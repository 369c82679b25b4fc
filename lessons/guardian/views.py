"""Where a guardian begins: their children's reeds and answers, read and not written."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lessons.guardian.pages import children_of
from studio.access import MemberRequest
from studio.roles import guardians_only


@guardians_only
@require_safe
def children(request: MemberRequest) -> HttpResponse:
    """Each child with what was sent and answered last."""
    return render(request, "lessons/guardian/children.html", {"children": children_of(request.member)})
