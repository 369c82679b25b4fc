"""The photos of a draft: each sent on its own, with a key that makes a second try harmless."""

from __future__ import annotations

import uuid

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from lessons.sending import actions
from lessons.sending.forms import DraftForms
from lessons.sending.models import Submission
from lessons.sending.views.send import draft_page, of_own_reed
from reeds.photo.models.photo import Photo
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible


def _upload(request: MemberRequest) -> UploadedFile[bytes]:
    upload = request.FILES.get("photo")
    if not isinstance(upload, UploadedFile):
        raise NotPossible(_("No photo came with it. Choose one again."))
    return upload


def _key(request: MemberRequest) -> uuid.UUID:
    try:
        return uuid.UUID(request.POST.get("photo-key", ""))
    except ValueError:
        raise NotPossible(_("The page is too old for this. Open it anew, then add the photo.")) from None


@require_POST
@of_own_reed
def add(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Take one photo from the page's script, or all that a form without script sends."""
    if not request.htmx:
        return _add_all(request, submission)
    try:
        upload, key = _upload(request), _key(request)
        photo = actions.attach_photo(submission, request.member, upload, key, request.POST.get("view", ""))
    except actions.SentMeanwhile:
        said = _("This photo is not in the round that was sent. It goes with the next round.")
        return HttpResponse(said, status=409, content_type="text/plain; charset=utf-8")
    except NotPossible as refusal:
        return HttpResponse(str(refusal), status=422, content_type="text/plain; charset=utf-8")
    return render(request, "lessons/sending/_photo.html", {"photo": photo, "submission": submission})


def _add_all(request: MemberRequest, submission: Submission) -> HttpResponse:
    refusals = []
    try:
        actions.save_draft(submission, DraftForms(submission, request.POST).save)
        for upload in request.FILES.getlist("photo"):
            refusals += _refused(request, submission, upload)
    except actions.SentMeanwhile as sent:
        return draft_page(request, submission, refusal=sent)
    if refusals:
        return draft_page(request, submission, refusal=" ".join(refusals))
    return redirect(request.member.to("lessons:draft", submission.reed_id))


def _refused(request: MemberRequest, submission: Submission, upload: UploadedFile[bytes]) -> list[str]:
    try:
        actions.attach_photo(submission, request.member, upload, uuid.uuid4())
    except actions.SentMeanwhile:
        raise
    except NotPossible as refusal:
        return [f"{upload.name}: {refusal}"]
    return []


def _of_round(request: MemberRequest, submission: Submission, pk: int) -> Photo:
    photos = Photo.objects.visible_to(request.member).filter(submissions=submission)
    return fetch(photos, request.member, pk)


@require_POST
@of_own_reed
def view(request: MemberRequest, submission: Submission, photo: int) -> HttpResponse:
    """Note from where a photo was taken."""
    row = _of_round(request, submission, photo)
    try:
        actions.name_view(submission, row, request.POST.get(f"view-{photo}", ""))
    except NotPossible as refusal:
        return HttpResponse(str(refusal), status=409, content_type="text/plain; charset=utf-8")
    return HttpResponse(status=204)


@require_POST
@of_own_reed
def remove(request: MemberRequest, submission: Submission, photo: int) -> HttpResponse:
    """Take a photo out of a draft again; what else was typed is kept."""
    row = _of_round(request, submission, photo)
    try:
        actions.save_draft(submission, DraftForms(submission, request.POST).save)
        actions.remove_photo(submission, row)
    except NotPossible as refusal:
        return HttpResponse(str(refusal), status=409, content_type="text/plain; charset=utf-8")
    if request.htmx:
        return HttpResponse("")
    return redirect(request.member.to("lessons:draft", submission.reed_id))


@require_safe
@never_cache
def prepared(request: MemberRequest, pk: int) -> HttpResponse:
    """Show how far the server is with a photo; the page asks until it is ready, then stops."""
    photo = fetch(Photo, request.member, pk)
    tries = request.GET.get("tries", "")
    page = {"photo": photo, "tries": int(tries[:3]) if tries.isdecimal() else 1}
    return render(request, "lessons/sending/_prepared.html", page)
