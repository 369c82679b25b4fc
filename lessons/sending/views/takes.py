"""The recordings of a draft: each sent on its own, with a key that makes a second try harmless."""

from __future__ import annotations

import json
import uuid

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from lessons.sending import actions
from lessons.sending.forms import DraftForms
from lessons.sending.models import Submission
from lessons.sending.views.send import draft_page, of_own_reed
from reeds.reed.models.reed import Reed
from reeds.sheet.playing_items import PlayingItem
from reeds.take.actions import granted_of
from reeds.take.models import Take
from reeds.take.pages.sounding import shown_one
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible

LONGEST_TOLD = 2000


def _sentence(words: object, status: int) -> HttpResponse:
    return HttpResponse(str(words), status=status, content_type="text/plain; charset=utf-8")


def _upload(request: MemberRequest, field: str) -> UploadedFile[bytes]:
    upload = request.FILES.get(field)
    if not isinstance(upload, UploadedFile):
        raise NotPossible(_("No recording came with it. Record it again, or choose the file again."))
    return upload


def _key(request: MemberRequest) -> uuid.UUID:
    try:
        return uuid.UUID(request.POST.get("take-key", ""))
    except ValueError:
        raise NotPossible(_("The page is too old for this. Open it anew, then record again.")) from None


def _item(request: MemberRequest, submission: Submission) -> PlayingItem:
    asked = {item.key: item for item in submission.reed.version.test}
    item = asked.get(request.POST.get("item", ""))
    if item is None:
        raise NotPossible(_("This is not in the playing test of this reed's measuring sheet."))
    return item


def _granted(request: MemberRequest) -> dict[str, bool | None]:
    """What the browser said of its own processing; unreadable or nothing, as for a file, is unknown."""
    try:
        given = json.loads(request.POST.get("granted", "")[:LONGEST_TOLD])
    except ValueError:
        given = None
    return granted_of(given if isinstance(given, dict) else {})


def _reed(request: MemberRequest, submission: Submission) -> Reed:
    """The draft's reed, or the student's reference reed where the page says it was that one."""
    if request.POST.get("of") != "reference":
        return submission.reed
    reference = (
        Reed.objects.visible_to(request.member).filter(owner=request.member, is_reference=True).first()
    )
    if reference is None:
        raise NotPossible(_("No reed is named as your reference any more: name one on its page."))
    return reference


@require_POST
@of_own_reed
def add(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Keep one recording, of the page's script or of a form without script, and have the worker listen."""
    if not request.htmx:
        return _add_plain(request, submission)
    try:
        take = _attach(request, submission, "take", _key(request))
    except actions.SentMeanwhile:
        return _sentence(_("This recording is not in the round that was sent. It goes with the next."), 409)
    except NotPossible as refusal:
        return _sentence(refusal, 422)
    return render(
        request, "lessons/sending/_take_row.html", {"heard": shown_one(take), "submission": submission}
    )


def _attach(request: MemberRequest, submission: Submission, field: str, key: uuid.UUID) -> Take:
    return actions.attach_take(
        submission,
        _reed(request, submission),
        request.member,
        _upload(request, field),
        key,
        _item(request, submission),
        _granted(request),
    )


def _add_plain(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Take the file that was chosen beside one item; what else was typed is kept."""
    try:
        actions.save_draft(submission, DraftForms(submission, request.POST).save)
        _attach(request, submission, f"take-{request.POST.get('item', '')}", uuid.uuid4())
    except NotPossible as refusal:
        return draft_page(request, submission, refusal=refusal)
    return redirect(request.member.to("lessons:draft", submission.reed_id) + "#takes")


@require_POST
@of_own_reed
def remove(request: MemberRequest, submission: Submission, take: int) -> HttpResponse:
    """Take a recording out of a draft again."""
    rows = Take.objects.visible_to(request.member).filter(submissions=submission)
    row = fetch(rows, request.member, take)
    try:
        actions.save_draft(submission, DraftForms(submission, request.POST).save)
        actions.remove_take(submission, row)
    except NotPossible as refusal:
        return _sentence(refusal, 409)
    if request.htmx:
        answer = HttpResponse("")
        answer["HX-Trigger"] = "take-heard"  # the checks may say less now
        return answer
    return redirect(request.member.to("lessons:draft", submission.reed_id))
