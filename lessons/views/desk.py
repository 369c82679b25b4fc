"""Where a student begins."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render

from lessons.models import Submission
from studio.access import MemberRequest


def desk(request: MemberRequest) -> HttpResponse:
    """Drafts, what waits, what was answered."""
    rounds = (
        Submission.objects.visible_to(request.member).filter(student=request.member).select_related("reed")
    )
    return render(request, "lessons/desk.html", {"rounds": rounds})
