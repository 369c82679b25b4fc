"""The photos of a draft: added by the page's script or by a plain form, named, removed."""

from __future__ import annotations

import uuid

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from lessons.sending import actions
from lessons.sending.models import Submission
from lessons.sending.views import draft
from lessons.sending.views.rows import of_round
from reeds.photo.actions.original import take_original
from reeds.photo.models.photo import Photo
from studio.access import MemberRequest, fetch
from studio.asked import tries_in
from studio.errors import NotPossible
from studio.roles import guardians_too


@require_POST
@draft.with_round
def add(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Take one photo from the page's script, or all that a form without script sends."""
    if not request.htmx:
        return draft.kept_then(request, submission, lambda: _attach_all(request, submission))
    late = _("This photo is not in the round that was sent. It goes with the next round.")
    return draft.attached(lambda: _attach_one(request, submission), late)


def _attach_one(request: MemberRequest, submission: Submission) -> HttpResponse:
    too_old = _("The page is too old for this. Open it anew, then add the photo.")
    key = draft.key_of(request, "photo-key", too_old)
    photo = actions.come_before(submission, actions.PHOTOS, key)
    if "better" in request.POST:
        return _better(request, photo)
    if photo is None and "ask" in request.POST:
        return HttpResponse(status=204)
    if photo is None and "place" in request.POST:
        return draft.place(request, submission, actions.PHOTOS)
    if photo is None:
        upload = draft.upload_of(request, "photo", _("No photo came with it. Choose one again."))
        photo = actions.attach_photo(submission, request.member, upload, key, request.POST.get("view", ""))
    return render(request, "lessons/sending/_photo.html", {"photo": photo, "submission": submission})


def _better(request: MemberRequest, photo: Photo | None) -> HttpResponse:
    """Take the original of a photo that came smaller; 503 while that one is being prepared: try again."""
    if photo is None:
        return draft.sentence(_("This photo was removed."), 410)
    if photo.is_waiting:
        return HttpResponse(status=503)
    missing = _("No photo came with it. Choose one again.")
    if take_original(photo, request.member, draft.upload_of(request, "photo", missing)):
        return HttpResponse(status=200)
    stays = _("Reed %(reed)s: the smaller photo stays. Lengths were measured on it before its original came.")
    return draft.sentence(stays % {"reed": photo.reed.number}, 200)


def _attach_all(request: MemberRequest, submission: Submission) -> None:
    refusals = []
    for upload in request.FILES.getlist("photo"):
        refusals += _refused(request, submission, upload)
    if refusals:
        raise NotPossible(" ".join(refusals))


def _refused(request: MemberRequest, submission: Submission, upload: UploadedFile[bytes]) -> list[str]:
    try:
        actions.attach_photo(submission, request.member, upload, uuid.uuid4())
    except actions.SentMeanwhile:
        raise
    except NotPossible as refusal:
        return [f"{upload.name}: {refusal}"]
    return []


@require_POST
@draft.with_round
def view(request: MemberRequest, submission: Submission, photo: int) -> HttpResponse:
    """Note from where a photo was taken."""
    row = of_round(request, Photo, submission, photo)
    try:
        actions.name_view(submission, row, request.POST.get(f"view-{photo}", ""))
    except NotPossible as refusal:
        return draft.sentence(refusal, 409)
    return HttpResponse(status=204)


@require_POST
@draft.with_round
def remove(request: MemberRequest, submission: Submission, photo: int) -> HttpResponse:
    """Take a photo out of a draft again."""
    return draft.removed(request, submission, actions.PHOTOS, of_round(request, Photo, submission, photo))


@guardians_too
@require_safe
@never_cache
def prepared(request: MemberRequest, pk: int) -> HttpResponse:
    """Show how far the server is with a photo; the page asks until it is ready, then stops."""
    photo = fetch(Photo, request.member, pk)
    page = {"photo": photo, "tries": tries_in(request)}
    return render(request, "lessons/sending/_prepared.html", page)
