"""Sending a reed: pick it, then one page that grows on the server until it is sent."""

from __future__ import annotations

import uuid

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from lessons import actions
from lessons.forms import DraftForms
from lessons.models import Submission
from reeds.actions import add_photo
from reeds.models import Reed
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible


def pick(request: MemberRequest) -> HttpResponse:
    """Choose the reed to send, or make one."""
    reeds = Reed.objects.visible_to(request.member).filter(owner=request.member).order_by("-number")
    return render(request, "lessons/send.html", {"reeds": reeds})


def _draft(request: MemberRequest, reed_pk: int) -> Submission:
    own = (
        Reed.objects.visible_to(request.member)
        .filter(owner=request.member)
        .select_related("version__pattern", "owner")
    )
    return actions.draft_of(fetch(own, request.member, reed_pk), request.member)


def draft(request: MemberRequest, pk: int) -> HttpResponse:
    """The page on which a round grows."""
    submission = _draft(request, pk)
    forms = DraftForms(submission)
    return render(
        request, "lessons/draft.html", {"submission": submission, "reed": submission.reed, "forms": forms}
    )


@require_POST
def save(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep what was typed so far and answer with what the checks say of it."""
    submission = _draft(request, pk)
    forms = DraftForms(submission, request.POST)
    actions.save_draft(submission, forms.typed, forms.question)
    return render(request, "lessons/_checked.html", {"forms": forms, "submission": submission})


def _upload(request: MemberRequest) -> UploadedFile[bytes]:
    upload = request.FILES.get("photo")
    if not isinstance(upload, UploadedFile):
        raise NotPossible(_("No photo came with it. Choose one again."))
    return upload


@require_POST
def photo(request: MemberRequest, pk: int) -> HttpResponse:
    """Take one photo; the page's key makes a second try harmless."""
    submission = _draft(request, pk)
    page = {"submission": submission}
    try:
        key = uuid.UUID(request.POST.get("key", ""))
        submission.photos.add(add_photo(submission.reed, request.member, _upload(request), key))
    except (NotPossible, ValueError) as refusal:
        return render(request, "lessons/_photos.html", page | {"refusal": refusal}, status=422)
    return render(request, "lessons/_photos.html", page)


@require_POST
def send(request: MemberRequest, pk: int) -> HttpResponse:
    """Send the round; a second tap finds it sent."""
    submission = _draft(request, pk)
    forms = DraftForms(submission, request.POST)
    actions.save_draft(submission, forms.typed, forms.question)
    try:
        forms.check()
        actions.send(submission, forms.entries, forms.ratings, forms.effort, forms.findings)
    except NotPossible as refusal:
        page = {"submission": submission, "reed": submission.reed, "forms": forms, "refusal": refusal}
        return render(request, "lessons/draft.html", page, status=422)
    return redirect(request.member.to("lessons:round", submission.pk))
