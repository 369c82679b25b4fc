"""Spans of a take, marked by a plain form: what a page without script sends."""

from __future__ import annotations

import uuid

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from lessons.answering import actions
from lessons.answering.forms.span import SpanForm
from lessons.answering.models import Phrase
from lessons.answering.pages.passages import passages_on
from lessons.answering.views.rows import round_for
from lessons.sending.views.rows import of_round
from reeds.take.models import Take
from reeds.take.pages.sounding import take_page
from studio.access import MemberRequest
from studio.errors import NotPossible
from studio.roles import teaching_only


@require_POST
@teaching_only
def add(request: MemberRequest, pk: int, take: int) -> HttpResponse:
    """Keep a span with its words; what cannot be read comes back as it was typed."""
    try:
        submission = round_for(request, pk)
    except NotPossible as reason:
        return render(
            request, "lessons/answering/gone.html", {"refusal": reason, "written": request.POST}, status=422
        )
    row = of_round(request, Take, submission, take)
    phrases = list(Phrase.objects.visible_to(request.member).filter(teacher=request.member))
    form = SpanForm(row, phrases, request.POST)
    if not form.is_valid():
        return _again(request, row, form)
    try:
        own = actions.answer_of(submission, request.member)
        actions.put_span(own, row, form.cleaned_data["key"] or uuid.uuid4(), form.span)
    except NotPossible as reason:
        form.add_error(None, str(reason))
        return _again(request, row, form)
    if form.usual:
        actions.use_phrase(form.usual)
    return _back(request, pk, take)


def _again(request: MemberRequest, row: Take, form: SpanForm) -> HttpResponse:
    page = take_page(row, request.member, passages_on([row], request.member, form=form))
    return render(request, "reeds/take/take.html", page, status=422)


def _back(request: MemberRequest, pk: int, take: int) -> HttpResponse:
    if request.POST.get("back") == "review":
        return redirect(f"{request.member.to('lessons:review', pk)}#take-{take}")
    return redirect(request.member.to("reeds:take", take))


@require_POST
@teaching_only
def drop(request: MemberRequest, pk: int, take: int) -> HttpResponse:
    """Take a span off; taking it off twice is the same as once."""
    try:
        submission = round_for(request, pk)
        of_round(request, Take, submission, take)
        own = actions.answer_of(submission, request.member)
        actions.drop_mark(own, uuid.UUID(request.POST.get("key", "")))
    except NotPossible as reason:
        return render(request, "lessons/answering/gone.html", {"refusal": reason}, status=422)
    except ValueError:
        pass  # no key, nothing to take off
    return _back(request, pk, take)
