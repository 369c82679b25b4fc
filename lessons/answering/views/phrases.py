"""A teacher's usual words: the page, and what the review page does with them."""

from __future__ import annotations

from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from lessons.answering import actions
from lessons.answering.forms.answer import PhraseForm
from lessons.answering.models import Phrase
from lessons.answering.views.rows import refused
from studio.access import MemberRequest, StudioQuerySet, fetch
from studio.errors import NotPossible
from studio.roles import teaching_only


def _own(request: MemberRequest) -> StudioQuerySet[Phrase]:
    return Phrase.objects.visible_to(request.member).filter(teacher=request.member)


def _page(request: MemberRequest, status: int = 200, **more: object) -> HttpResponse:
    page = {"phrases": _own(request), "form": PhraseForm(), **more}
    return render(request, "lessons/answering/phrases.html", page, status=status)


@teaching_only
def phrases(request: MemberRequest) -> HttpResponse:
    """One's usual words, the most used first; new ones are added here."""
    if request.method != "POST":
        return _page(request)
    try:
        actions.keep_phrase(request.member, request.POST.get("words", ""))
    except NotPossible as reason:
        return _page(request, 422, refusal=reason, form=PhraseForm(request.POST))
    return redirect(request.member.to("lessons:phrases"))


@require_POST
@teaching_only
def keep(request: MemberRequest) -> HttpResponse:
    """Keep words from the review page."""
    try:
        phrase = actions.keep_phrase(request.member, request.POST.get("words", ""))
    except NotPossible as reason:
        return refused(reason)
    return JsonResponse({"pk": phrase.pk, "words": phrase.words})


@require_POST
@teaching_only
def change(request: MemberRequest, pk: int) -> HttpResponse:
    """Put other words in their place."""
    phrase = fetch(_own(request), request.member, pk)
    try:
        actions.change_phrase(phrase, request.POST.get("words", ""))
    except NotPossible as reason:
        return _page(request, 422, refusal=reason, changing=pk, typed=request.POST.get("words", ""))
    return redirect(request.member.to("lessons:phrases"))


@require_POST
@teaching_only
def drop(request: MemberRequest, pk: int) -> HttpResponse:
    """Drop words."""
    actions.drop_phrase(fetch(_own(request), request.member, pk))
    return redirect(request.member.to("lessons:phrases"))


@require_POST
@teaching_only
def used(request: MemberRequest, pk: int) -> HttpResponse:
    """Count one use."""
    actions.use_phrase(fetch(_own(request), request.member, pk))
    return JsonResponse({})
