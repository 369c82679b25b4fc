"""Marks on the photos and takes of a round: kept as they are drawn, dropped, given out as Web Annotations."""

from __future__ import annotations

import json
import uuid
from typing import Any

from django.conf import settings
from django.http import HttpResponse, JsonResponse, RawPostDataException
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from lessons.answering import actions
from lessons.answering.annotation import MEDIA_TYPE, UNREADABLE, MarkRefused, collection, exported, read_drawn
from lessons.answering.forms.span import duration_of
from lessons.answering.models import Answer, Mark
from lessons.answering.spans import KIND as SPAN
from lessons.answering.spans import read_span
from lessons.answering.views.rows import refused, round_for
from lessons.sending.models import Submission
from lessons.sending.views.rows import sent_round
from reeds.photo.models.photo import Photo
from reeds.take.models import Take
from reeds.wording import say
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.roles import teaching_only


def _given(request: MemberRequest) -> dict[str, Any]:
    """Return what the page's script sent, with its key read."""
    try:
        given = json.loads(request.body)
        return {**given, "key": uuid.UUID(given["key"])}
    except (KeyError, ValueError, TypeError, AttributeError, RecursionError, RawPostDataException):
        raise MarkRefused(UNREADABLE) from None


@require_POST
@teaching_only
def put(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep a mark on one of the round's photos or takes; the same key again changes it."""
    try:
        submission = round_for(request, pk)
        given = _given(request)
        keep = _put_span if given.get("kind") == SPAN else _put_drawn
        kept = keep(request, submission, given)
    except MarkRefused as reason:
        return refused(say(reason))
    except NotPossible as reason:
        return refused(reason)
    return JsonResponse({"key": str(kept.key)})


def _put_drawn(request: MemberRequest, submission: Submission, given: dict[str, Any]) -> Mark:
    drawn = read_drawn(given)
    photo = fetch(Photo, request.member, _number(given.get("photo")))
    return actions.put_mark(actions.answer_of(submission, request.member), photo, given["key"], drawn)


def _put_span(request: MemberRequest, submission: Submission, given: dict[str, Any]) -> Mark:
    take = fetch(Take, request.member, _number(given.get("take")))
    span = read_span(given, duration_of(take))
    return actions.put_span(actions.answer_of(submission, request.member), take, given["key"], span)


def _number(given: object) -> int:
    if isinstance(given, bool) or not isinstance(given, int) or not 0 < given < 2**63:
        raise MarkRefused(UNREADABLE)
    return given


@require_POST
@teaching_only
def drop(request: MemberRequest, pk: int) -> HttpResponse:
    """Take a mark off; taking it off twice is the same as once."""
    try:
        submission = round_for(request, pk)
        key = _given(request)["key"]
        actions.drop_mark(actions.answer_of(submission, request.member), key)
    except MarkRefused as reason:
        return refused(say(reason))
    except NotPossible as reason:
        return refused(reason)
    return JsonResponse({"key": str(key)})


def export(request: MemberRequest, pk: int) -> HttpResponse:
    """Give out the marks of a round that one may see, as a W3C AnnotationCollection."""
    submission = sent_round(request, pk)
    answers = Answer.objects.visible_to(request.member).seen_by(request.member).filter(submission=submission)
    marks = Mark.objects.visible_to(request.member).filter(answer__in=answers).on_what_is_kept()
    items = [_exported(request, mark) for mark in marks.select_related("answer__author__person")]
    address = settings.SITE_ADDRESS + request.member.to("lessons:marks", submission.pk)
    label = _("Marks on reed %(number)d, round %(round)d") % {
        "number": submission.reed.number,
        "round": submission.round,
    }
    text = json.dumps(collection(address, label, items), ensure_ascii=False, indent=2)
    name = f"marks-{submission.pk}.json"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(text, content_type=MEDIA_TYPE, headers=headers)


def _exported(request: MemberRequest, mark: Mark) -> dict[str, Any]:
    what = ("reeds:take_sound", mark.take_id) if mark.take_id else ("reeds:photo", mark.photo_id, "upright")
    source = settings.SITE_ADDRESS + request.member.to(*what)
    made = mark.made_at.isoformat().replace("+00:00", "Z")
    return exported(mark.annotation, source=source, creator=str(mark.answer.author), created=made)
