"""Looking back on a term."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render

from lessons.models import Submission
from studio.access import MemberRequest


def term(request: MemberRequest) -> HttpResponse:
    """What was sent, and what was found."""
    sent = Submission.objects.visible_to(request.member).sent().select_related("reed")
    return render(request, "lessons/term.html", {"sent": sent})
