"""One round on one screen: photos, numbers, findings; marks and an answer."""

from __future__ import annotations

import json
import uuid

from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from lessons import actions
from lessons.forms import AnswerForm
from lessons.models import Mark, Submission
from reeds.models import Photo
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.roles import teachers_only


def _sent(request: MemberRequest, pk: int) -> Submission:
    rows = Submission.objects.visible_to(request.member).sent()
    return fetch(rows.select_related("reed", "student__person", "version__pattern"), request.member, pk)


@teachers_only
def review(request: MemberRequest, pk: int) -> HttpResponse:
    """Everything about one round."""
    submission = _sent(request, pk)
    answer = actions.answer_of(submission, request.member)
    form = AnswerForm(instance=answer)
    return render(request, "lessons/review.html", {"submission": submission, "answer": answer, "form": form})


@require_POST
@teachers_only
def mark(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep a mark on one of the round's photos."""
    submission = _sent(request, pk)
    try:
        given = json.loads(request.body)
        photo = fetch(Photo, request.member, int(given["photo"]))
        mark = Mark(photo=photo, key=uuid.UUID(given["key"]), annotation=given["annotation"])
    except (KeyError, ValueError, TypeError):
        return JsonResponse({"refusal": _("This mark cannot be read.")}, status=422)
    kept = actions.put_mark(actions.answer_of(submission, request.member), mark)
    return JsonResponse({"key": str(kept.key)})


@require_POST
@teachers_only
def answer(request: MemberRequest, pk: int) -> HttpResponse:
    """Send the answer and go to the next reed."""
    submission = _sent(request, pk)
    answer = actions.answer_of(submission, request.member)
    form = AnswerForm(request.POST, instance=answer)
    try:
        if form.is_valid():
            actions.send_answer(form.save())
            return redirect(request.member.to("lessons:queue"))
        refusal = ""
    except NotPossible as reason:
        refusal = str(reason)
    page = {"submission": submission, "answer": answer, "form": form, "refusal": refusal}
    return render(request, "lessons/review.html", page, status=422)
