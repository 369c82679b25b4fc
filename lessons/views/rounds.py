"""A round as its student sees it: what was sent, what the checks said, the answer."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render

from lessons.models import Answer, Mark, Submission
from studio.access import MemberRequest, fetch


def round_page(request: MemberRequest, pk: int) -> HttpResponse:
    """One round with its answers."""
    submission = fetch(
        Submission.objects.visible_to(request.member).select_related("reed"), request.member, pk
    )
    answers = Answer.objects.visible_to(request.member).sent().filter(submission=submission)
    marks = Mark.objects.visible_to(request.member).filter(answer__in=answers)
    page = {"submission": submission, "answers": answers.select_related("author__person"), "marks": marks}
    return render(request, "lessons/round.html", page)
