"""Sending a reed: pick it, then one page that grows on the server until it is sent."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from lessons.sending import actions
from lessons.sending.forms import DraftForms
from lessons.sending.models import Submission
from lessons.sending.views.draft import draft_page, keep_typed, kept_then, with_round
from reeds.numbers.words import Stage
from reeds.reed.actions import move_stage
from reeds.reed.models.reed import Reed
from reeds.reed.on_phone import limits_on_phone
from reeds.reed.thumbs import with_thumbs
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.offline import kept_offline

RECENT, FOREMOST = 24, 3


@require_safe
@kept_offline
def pick(request: MemberRequest) -> HttpResponse:
    """Choose the reed to send by its number on the cork, or make one."""
    own = Reed.objects.visible_to(request.member).filter(owner=request.member)
    number = request.GET.get("number", "").strip()
    found = own.filter(number=int(number)).first() if number.isdecimal() and len(number) < 9 else None
    if found:
        return redirect(request.member.to("lessons:draft", found.pk))
    begun = Submission.objects.visible_to(request.member).drafts().with_something()
    reeds = with_thumbs(request.member, own.order_by("-stage_since", "-number")[:RECENT])
    reeds.sort(key=lambda reed: Stage(reed.stage).is_over)
    page = {
        "foremost": [(reed, _soon(reed)) for reed in reeds[:FOREMOST]],
        "others": reeds[FOREMOST:],
        "begun": set(begun.values_list("reed_id", flat=True)),
        "number": number,
    }
    return render(request, "lessons/sending/send.html", page)


def _soon(reed: Reed) -> list[Stage]:
    """The two stages to which it may have come since it was seen last."""
    return [stage for stage in Stage(reed.stage).later if not stage.is_over][:2]


@require_safe
@kept_offline
@with_round
def draft(request: MemberRequest, submission: Submission) -> HttpResponse:
    """The page on which a round grows."""
    return draft_page(request, submission)


@require_safe
@with_round
def limits(_request: MemberRequest, submission: Submission) -> HttpResponse:
    """What the phone checks the numbers of this stage by, while there is no line."""
    return JsonResponse(limits_on_phone(submission.reed, DraftForms(submission).numbers.quantities))


@require_POST
@with_round
def save(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Keep what was typed so far and answer with what the checks say of it."""
    try:
        forms = keep_typed(request, submission)
    except actions.SentMeanwhile as refusal:
        page = {"refusal": refusal, "submission": submission}
        return render(request, "lessons/sending/_sent_meanwhile.html", page, status=409)
    page = {"forms": forms, "submission": submission, "saved": True}
    return render(request, "lessons/sending/_checked.html", page)


@require_POST
@with_round
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
    forms = DraftForms(submission, shown=False)
    page = {"forms": forms, "submission": submission, "refusal": refusal, "saved": True}
    return render(request, "lessons/sending/_checked.html", page, status=422)


def _go_on(request: MemberRequest, to: str) -> HttpResponse:
    """Send the browser to a page; a script is told where, so that it can do so without a trace in history."""
    return JsonResponse({"to": to}) if request.htmx else redirect(to)


@require_POST
@with_round
def begin_next(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Keep what was typed on a page whose round was sent meanwhile as the beginning of the next round."""
    return _next_round(request, submission)


def _next_round(request: MemberRequest, sent: Submission) -> HttpResponse:
    draft = actions.draft_of(sent.reed, request.member)
    draft.reed = sent.reed
    actions.save_draft(draft, DraftForms(draft, request.POST).save)
    return _go_on(request, request.member.to("lessons:draft", sent.reed_id) + "?after=1")


@require_POST
def take_back(request: MemberRequest, pk: int) -> HttpResponse:
    """Make a round that nobody has looked at a draft again: to add to it, or to let it lie."""
    own = Submission.objects.visible_to(request.member).filter(student=request.member)
    submission = fetch(own.select_related("reed"), request.member, pk)
    places = {"r": submission.round, "n": submission.reed.number}
    try:
        actions.take_back(submission)
    except NotPossible as refusal:
        messages.error(request, str(refusal))
        return redirect(request.member.to("lessons:round", pk))
    if request.POST.get("to_add"):
        told = _(
            "Round %(r)s is not sent now: all of it is here. Add what was forgotten, then send it again."
        )
        messages.info(request, told % places)
        return redirect(request.member.to("lessons:draft", submission.reed_id))
    told = _("Round %(r)s of reed %(n)s was taken back. It lies among what is begun, nothing is lost.")
    messages.info(request, told % places)
    return redirect(request.member.to("lessons:desk"))


@require_POST
@with_round
def stage(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Note how far the reed is, so that the page asks for the numbers of that stage."""
    return kept_then(request, submission, lambda: _move(request, submission))


def _move(request: MemberRequest, submission: Submission) -> None:
    try:
        to_stage = Stage(request.POST.get("to_stage", ""))
    except ValueError:
        raise NotPossible(_("Choose how far the reed is.")) from None
    move_stage(submission.reed, request.member, to_stage)
