"""Reeds waiting for an answer, in the order of need."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render

from lessons.models import Submission
from studio.access import MemberRequest
from studio.roles import teachers_only


@teachers_only
def queue(request: MemberRequest) -> HttpResponse:
    """What waits."""
    waiting = Submission.objects.visible_to(request.member).waiting().order_by("-need", "sent_at")
    return render(
        request, "lessons/queue.html", {"waiting": waiting.select_related("reed", "student__person")}
    )
