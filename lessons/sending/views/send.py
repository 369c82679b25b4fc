"""Sending a reed: pick it, then one page that grows on the server until it is sent."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from lessons.sending import actions
from lessons.sending.forms import DraftForms
from lessons.sending.models import Submission
from reeds.numbers.vocabulary import Stage
from reeds.reed.actions import move_stage
from reeds.reed.models.reed import Reed
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible

RECENT = 24
STAGES = [stage for stage in Stage if stage is not Stage.GIVEN_UP]

View = Callable[..., HttpResponse]


@require_safe
def pick(request: MemberRequest) -> HttpResponse:
    """Choose the reed to send by its number on the cork, or make one."""
    own = Reed.objects.visible_to(request.member).filter(owner=request.member)
    number = request.GET.get("number", "").strip()
    found = own.filter(number=int(number)).first() if number.isdecimal() and len(number) < 9 else None
    if found:
        return redirect(request.member.to("lessons:draft", found.pk))
    begun = Submission.objects.visible_to(request.member).drafts().with_something()
    page = {
        "reeds": own.order_by("-stage_since", "-number")[:RECENT],
        "begun": set(begun.values_list("reed_id", flat=True)),
        "number": number,
    }
    return render(request, "lessons/sending/send.html", page)


def _round(request: MemberRequest, reed_pk: int) -> Submission:
    """Return the round the page was made for, sent or not, else the reed's open draft."""
    own = Reed.objects.visible_to(request.member).filter(owner=request.member)
    reed = fetch(own.select_related("version__pattern", "owner"), request.member, reed_pk)
    rounds = Submission.objects.visible_to(request.member).filter(reed=reed)
    typed_on = rounds.filter(key=_uuid(request.POST.get("key", ""))).first()
    submission = typed_on or actions.draft_of(reed, request.member)
    submission.reed, submission.student = reed, request.member
    return submission


def _uuid(text: str) -> uuid.UUID:
    try:
        return uuid.UUID(text)
    except ValueError:
        return uuid.uuid4()


def of_own_reed(view: View) -> View:
    """Hand a view the round of the member's own reed; others get 404, a reed taken out a sentence."""

    @never_cache
    @wraps(view)
    def found(request: MemberRequest, pk: int, **rest: int) -> HttpResponse:
        try:
            submission = _round(request, pk)
        except Http404:
            if not actions.was_taken_out(request.member, pk):
                raise
            page = {"typed": [text for text in request.POST.getlist("question") if text]}
            return render(request, "lessons/sending/taken_out.html", page, status=410)
        return view(request, submission, **rest)

    return found


def draft_page(request: MemberRequest, submission: Submission, **more: Any) -> HttpResponse:  # noqa: ANN401
    """Answer with the page on which a round grows."""
    page = {
        "submission": submission,
        "reed": submission.reed,
        "forms": DraftForms(submission),
        "photos": submission.photos.all(),
        "stages": STAGES,
        "reference": _reference(request, submission.reed),
    }
    status = 422 if more.get("refusal") else 200
    return render(request, "lessons/sending/draft.html", {**page, **more}, status=status)


def _reference(request: MemberRequest, reed: Reed) -> Reed | None:
    """The good reed that can be recorded beside this one in the same sitting."""
    own = Reed.objects.visible_to(request.member).filter(owner=request.member, is_reference=True)
    return own.exclude(pk=reed.pk).first()


@require_safe
@of_own_reed
def draft(request: MemberRequest, submission: Submission) -> HttpResponse:
    """The page on which a round grows."""
    return draft_page(request, submission)


@require_POST
@of_own_reed
def save(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Keep what was typed so far and answer with what the checks say of it."""
    try:
        actions.save_draft(submission, DraftForms(submission, request.POST).save)
    except actions.SentMeanwhile as refusal:
        page = {"refusal": refusal, "submission": submission}
        return render(request, "lessons/sending/_sent_meanwhile.html", page, status=409)
    page = {"forms": DraftForms(submission), "submission": submission, "saved": True}
    return render(request, "lessons/sending/_checked.html", page)


@require_POST
@of_own_reed
def send(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Send the round; a second tap finds it sent."""
    save = DraftForms(submission, request.POST).save
    try:
        actions.send(submission, save, DraftForms.read)
    except actions.SentMeanwhile as sent:
        if actions.holds(sent.submission, save):
            return _go_on(request, request.member.to("lessons:round", submission.pk))
        return _next_round(request, submission)
    except NotPossible as refusal:
        return _not_sent(request, submission, refusal)
    return _go_on(request, request.member.to("lessons:round", submission.pk))


def _not_sent(request: MemberRequest, submission: Submission, refusal: NotPossible) -> HttpResponse:
    if not request.htmx:
        return draft_page(request, submission, refusal=refusal)
    page = {"forms": DraftForms(submission), "submission": submission, "refusal": refusal, "saved": True}
    return render(request, "lessons/sending/_checked.html", page, status=422)


def _go_on(request: MemberRequest, to: str) -> HttpResponse:
    """Send the browser to a page; a script is told where, so that it can do so without a trace in history."""
    return JsonResponse({"to": to}) if request.htmx else redirect(to)


@require_POST
@of_own_reed
def begin_next(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Keep what was typed on a page whose round was sent meanwhile as the beginning of the next round."""
    return _next_round(request, submission)


def _next_round(request: MemberRequest, sent: Submission) -> HttpResponse:
    draft = actions.draft_of(sent.reed, request.member)
    draft.reed = sent.reed
    actions.save_draft(draft, DraftForms(draft, request.POST).save)
    return _go_on(request, request.member.to("lessons:draft", sent.reed_id) + "?after=1")


@require_POST
@of_own_reed
def stage(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Note how far the reed is, so that the page asks for the numbers of that stage."""
    try:
        actions.save_draft(submission, DraftForms(submission, request.POST).save)
        move_stage(submission.reed, request.member, Stage(request.POST.get("to_stage", "")))
    except ValueError:
        return draft_page(request, submission, refusal=_("Choose how far the reed is."))
    except NotPossible as refusal:
        return draft_page(request, submission, refusal=refusal)
    return redirect(request.member.to("lessons:draft", submission.reed_id))
