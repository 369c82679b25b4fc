"""What every page and part of a draft begins and ends with: whose it is, what was typed, how it is shown."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.core.exceptions import BadRequest
from django.core.files import File
from django.core.files.uploadedfile import UploadedFile
from django.db.models import QuerySet
from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from lessons.sending import actions
from lessons.sending.forms import DraftForms
from lessons.sending.models import Submission, open_or_next
from reeds.numbers.words import Stage
from reeds.reed.models.reed import Reed
from studio.access import MemberRequest, Seer
from studio.direct import arrived, place_for
from studio.errors import NotPossible
from studio.prepared import prepared

LONGEST_TYPE = 100
STAGES = [stage for stage in Stage if stage is not Stage.GIVEN_UP]

View = Callable[..., HttpResponse]


def _round(request: MemberRequest, reed_pk: int) -> Submission:
    """Return the round the page was made for, sent or not, else the reed's open draft, begun by a POST."""
    found = _own_reed(request.member, reed_pk)
    if not found:
        raise Http404
    reed, key = found[0], request.POST.get("key")
    reed.owner = request.member
    submission = open_or_next(_newest_round(request.member, reed.pk), reed, request.member)
    if key and key != str(submission.key):
        rounds = Submission.objects.visible_to(request.member).filter(reed=reed)
        submission = rounds.filter(key=_uuid(key)).first() or submission
    if request.method == "POST" and not submission.is_begun:
        submission = actions.draft_of(reed, request.member)
    submission.reed, submission.student = reed, request.member
    return submission


@prepared
def _own_reed(member: Seer, pk: int) -> QuerySet[Reed]:
    own = Reed.objects.visible_to(member).filter(owner=member.pk, pk=pk)
    return own.select_related("version__pattern")


@prepared
def _newest_round(member: Seer, reed: int) -> QuerySet[Submission]:
    return Submission.objects.visible_to(member).filter(reed=reed).newest_first()[:1]


def _uuid(text: str) -> uuid.UUID:
    try:
        return uuid.UUID(text)
    except ValueError:
        return uuid.uuid4()


def with_round(view: View) -> View:
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
    forms = DraftForms(submission)
    page = {
        "submission": submission,
        "reed": submission.reed,
        "forms": forms,
        "photos": forms.photos,
        "enclosed": actions.PHOTOS,
        "stages": STAGES,
        "direct": settings.S3_BUCKET,
        "reference": _reference(request, submission.reed),
    }
    status = 422 if more.get("refusal") else 200
    return render(request, "lessons/sending/draft.html", {**page, **more}, status=status)


def _reference(request: MemberRequest, reed: Reed) -> Reed | None:
    """The good reed that can be recorded beside this one in the same sitting."""
    return next((one for one in _references(request.member) if one.pk != reed.pk), None)


@prepared
def _references(member: Seer) -> QuerySet[Reed]:
    return Reed.objects.visible_to(member).filter(owner=member.pk, is_reference=True)


def keep_typed(request: MemberRequest, submission: Submission) -> DraftForms:
    """Keep what the page typed; return forms of what is kept: another page may have the last word."""
    forms = DraftForms(submission, request.POST, shown=False)
    actions.save_draft(submission, forms.save)
    forms.posted = {}
    return forms


def kept_then(
    request: MemberRequest, submission: Submission, act: Callable[[], object], anchor: str = ""
) -> HttpResponse:
    """Keep what was typed, then act; back to the page, with the refusal if there was one."""
    try:
        keep_typed(request, submission)
        act()
    except NotPossible as refusal:
        return draft_page(request, submission, refusal=refusal)
    return redirect(request.member.to("lessons:draft", submission.reed_id) + anchor)


def sentence(words: object, status: int) -> HttpResponse:
    """Answer the page's script with one sentence."""
    return HttpResponse(str(words), status=status, content_type="text/plain; charset=utf-8")


# --- a photo or a recording, each sent on its own with a key that makes a second try harmless ---


def upload_of(request: MemberRequest, field: str, missing: str) -> File[bytes]:
    """Return the file that came, whole; NotPossible, with what is said of a `missing` one."""
    if ticket := request.POST.get(f"{field}-ticket"):
        return arrived(request.member, ticket)
    upload = request.FILES.get(field)
    if not isinstance(upload, UploadedFile):
        raise NotPossible(missing)
    if request.POST.get(f"{field}-size", str(upload.size)) != str(upload.size):
        raise BadRequest  # the line was cut in the midst of it, and nobody listens any more
    return upload


def key_of(request: MemberRequest, field: str, too_old: str) -> uuid.UUID:
    """Return the key that the page made; NotPossible, with what is said of a page `too_old`."""
    try:
        return uuid.UUID(request.POST.get(field, ""))
    except ValueError:
        raise NotPossible(too_old) from None


def place(request: MemberRequest, submission: Submission, kind: actions.Enclosure[Any]) -> HttpResponse:
    """Answer where in the bucket a file may be put that would be taken; 204: it comes the ordinary way."""
    actions.would_take(submission, request.member, kind)
    size, content_type = request.POST.get("place", ""), request.POST.get("type", "")[:LONGEST_TYPE]
    to = place_for(request.member, int(size) if size.isdecimal() and len(size) < 12 else 0, content_type)
    return HttpResponse(status=204) if to is None else JsonResponse(to, status=202)


def attached(attach: Callable[[], HttpResponse], too_late: str) -> HttpResponse:
    """Answer the page's script with what `attach` shows, or why not; `too_late` if the round was sent."""
    try:
        return attach()
    except actions.SentMeanwhile:
        return sentence(too_late, 409)
    except NotPossible as refusal:
        return sentence(refusal, 422)


def removed(
    request: MemberRequest, submission: Submission, kind: actions.Enclosure[actions.Row], row: actions.Row
) -> HttpResponse:
    """Take one out of the draft again; what else was typed is kept."""
    try:
        keep_typed(request, submission)
        actions.remove(submission, kind, row)
    except NotPossible as refusal:
        return sentence(refusal, 409)
    if request.htmx:
        return HttpResponse("")
    return redirect(request.member.to("lessons:draft", submission.reed_id))
