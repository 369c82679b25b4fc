"""The recordings of a draft: added by the page's script or by a plain form, removed."""

from __future__ import annotations

import json
import uuid

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from lessons.sending import actions
from lessons.sending.models import Submission
from lessons.sending.views import draft
from lessons.sending.views.rows import of_round
from reeds.reed.models.reed import Reed
from reeds.sheet.playing_items import PlayingItem
from reeds.take.models import Take
from reeds.take.pages.sounding import shown_one
from reeds.take.processing import Processing
from studio.access import MemberRequest
from studio.errors import NotPossible

LONGEST_TOLD = 2000


def _item(request: MemberRequest, submission: Submission) -> PlayingItem:
    asked = {item.key: item for item in submission.reed.version.test}
    item = asked.get(request.POST.get("item", ""))
    if item is None:
        raise NotPossible(_("This is not in the playing test of this reed's measuring sheet."))
    return item


def _processing(request: MemberRequest) -> Processing:
    """What the browser said of its own processing; unreadable or nothing, as for a file, is unknown."""
    try:
        given = json.loads(request.POST.get("granted", "")[:LONGEST_TOLD])
    except ValueError:
        given = None
    return Processing.from_json(given if isinstance(given, dict) else {})


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
@draft.with_round
def add(request: MemberRequest, submission: Submission) -> HttpResponse:
    """Keep one recording, of the page's script or of a form without script, and have the worker listen."""
    if not request.htmx:
        field = f"take-{request.POST.get('item', '')}"  # the file that was chosen beside one item
        return draft.kept_then(
            request, submission, lambda: _attach(request, submission, field, uuid.uuid4()), "#takes"
        )
    late = _("This recording is not in the round that was sent. It goes with the next.")
    return draft.attached(lambda: _attach_one(request, submission), late)


def _attach_one(request: MemberRequest, submission: Submission) -> HttpResponse:
    too_old = _("The page is too old for this. Open it anew, then record again.")
    key = draft.key_of(request, "take-key", too_old)
    take = actions.come_before(submission, actions.TAKES, key)
    if take is None and "ask" in request.POST:
        return HttpResponse(status=204)
    if take is None and "place" in request.POST:
        return draft.place(request, submission, actions.TAKES)
    if take is None:
        take = _attach(request, submission, "take", key)
    page = {"heard": shown_one(take), "submission": submission}
    return render(request, "lessons/sending/_take_row.html", page)


def _attach(request: MemberRequest, submission: Submission, field: str, key: uuid.UUID) -> Take:
    missing = _("No recording came with it. Record it again, or choose the file again.")
    return actions.attach_take(
        submission,
        _reed(request, submission),
        request.member,
        draft.upload_of(request, field, missing),
        key,
        _item(request, submission),
        _processing(request),
    )


@require_POST
@draft.with_round
def remove(request: MemberRequest, submission: Submission, take: int) -> HttpResponse:
    """Take a recording out of a draft again."""
    row = of_round(request, Take, submission, take)
    answer = draft.removed(request, submission, actions.TAKES, row)
    if request.htmx and answer.status_code == 200:
        answer["HX-Trigger"] = "take-heard"  # the checks may say less now
    return answer
