"""A spoken note of an answer: sent by the page's recorder or by a plain form, taken out again."""

from __future__ import annotations

import uuid

from django.core.files import File
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from lessons.answering import actions
from lessons.answering.models import Answer
from lessons.answering.views.rows import round_for
from lessons.sending.views import draft
from studio.access import MemberRequest
from studio.errors import NotPossible
from studio.roles import teaching_only


@require_POST
@teaching_only
def put(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep a note in one's own answer; the page's key makes a second try harmless."""
    try:
        answer = actions.answer_of(round_for(request, pk), request.member)
        actions.put_voice(answer, *_sent(request))
    except NotPossible as refusal:
        return _refused(request, refusal)
    return _shown(request, answer)


def _sent(request: MemberRequest) -> tuple[File[bytes], uuid.UUID]:
    missing = _("No recording came with it. Record it again.")
    too_old = _("The page is too old for this. Open it anew, then record again.")
    return draft.upload_of(request, "voice", missing), draft.key_of(request, "key", too_old)


@require_POST
@teaching_only
def drop(request: MemberRequest, pk: int) -> HttpResponse:
    """Take the note out of one's own answer; taken out twice is the same as once."""
    try:
        answer = actions.answer_of(round_for(request, pk), request.member)
        actions.drop_voice(answer)
    except NotPossible as refusal:
        return _refused(request, refusal)
    return _shown(request, answer)


def _refused(request: MemberRequest, refusal: NotPossible) -> HttpResponse:
    template = "lessons/voice/_refused.html" if request.htmx else "lessons/answering/gone.html"
    return render(request, template, {"refusal": refusal}, status=422)


def _shown(request: MemberRequest, answer: Answer) -> HttpResponse:
    if not request.htmx:
        return redirect(request.member.to("lessons:review", answer.submission_id))
    answer.refresh_from_db()
    page = {"answer": answer, "submission": answer.submission, "voice_key": uuid.uuid4()}
    return render(request, "lessons/voice/_note.html", page)
