"""A round as its student sees it: the answer, what was sent, what the checks said."""

from __future__ import annotations

import uuid

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import trigger_client_event

from lessons.answering import actions
from lessons.answering.models import Answer, Mark, Reply
from lessons.answering.pages.alike import sent_alike
from lessons.answering.pages.changed import Changed
from lessons.answering.pages.marked import marked_photos
from lessons.answering.pages.passages import passages_on
from lessons.answering.pages.recordings import in_lines, recordings
from lessons.demonstration.models import Demonstration
from lessons.sending.models import Submission, unread_of
from lessons.sending.pages import Later
from lessons.sending.views.rows import sent_round
from reeds.photo.models.photo import Photo
from studio.access import MemberRequest
from studio.errors import NotPossible
from studio.journal import Thing, note_opened
from studio.offline import kept_offline
from studio.roles import guardians_too


def _page(request: MemberRequest, submission: Submission, status: int = 200, **more: object) -> HttpResponse:
    member = request.member
    answers = Answer.objects.visible_to(member).sent().filter(submission=submission)
    marks = Mark.objects.visible_to(member).filter(answer__in=answers)
    photos = Photo.objects.visible_to(member).filter(submissions=submission)
    takes = in_lines(submission, member)
    later = Later(submission)
    replies = Reply.objects.visible_to(member).filter(submission=submission)
    demonstrations = Demonstration.objects.visible_to(member)
    is_own = submission.student_id == member.pk
    rounds = list(Submission.objects.visible_to(member).filter(reed=submission.reed_id).order_by("round"))
    page = {
        "submission": submission,
        "reed": submission.reed,
        "answers": list(answers.select_related("author__person", "voice", "demonstration")),
        "demonstrations": list(demonstrations.beside(submission.found, submission.stage)),
        "sent_alike": sent_alike(submission, member),
        "photos": marked_photos(photos, marks),
        "takes": recordings(submission, takes, passages_on(takes, member, may_mark=False), member),
        "later": later,
        "changed": Changed(submission, member, later),
        "replies": replies.select_related("by__person"),
        "rounds": rounds,
        "is_own": is_own,
        "next": rounds[-1].round + (rounds[-1].sent_at is not None),
        "unread": (is_own and submission.is_new) or replies.unread_by(member).exists(),
        "key": uuid.uuid4(),
    }
    return render(request, "lessons/answering/round.html", {**page, **more}, status=status)


@guardians_too
@require_safe
@kept_offline
def round_page(request: MemberRequest, pk: int) -> HttpResponse:
    """One round with its answers."""
    submission = sent_round(request, pk)
    note_opened(request.member, Thing.ROUND, submission, submission.student_id)
    return _page(request, submission)


@require_POST
def read(request: MemberRequest, pk: int) -> HttpResponse:
    """Note that the answer was read: said by the open page, or by a tap where it has no script."""
    actions.note_read(sent_round(request, pk), request.member)
    if not request.htmx:
        return redirect(request.member.to("lessons:round", pk))
    left = {"count": unread_of(request.member)}
    return trigger_client_event(HttpResponse(status=204), "unread", left)


@require_POST
def reply(request: MemberRequest, pk: int) -> HttpResponse:
    """Say something back; the same form twice says it once."""
    submission = sent_round(request, pk)
    words = request.POST.get("words", "")
    try:
        actions.reply(submission, request.member, words, uuid.UUID(request.POST.get("key", "")))
    except NotPossible as refusal:
        return _page(request, submission, status=422, refusal=refusal, words=words)
    except ValueError:
        return _page(request, submission, status=422, words=words)
    return redirect(request.member.to("lessons:round", pk) + "#replies")
