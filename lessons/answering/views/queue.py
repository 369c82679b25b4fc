"""Reeds waiting for an answer, in the order of need."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from lessons.answering.forms.answer import QueueFilter
from lessons.answering.models import Answer, Looking
from lessons.answering.pages.alike import alike_of, just_sent, left_out
from lessons.answering.pages.unread import unread_replies
from lessons.answering.views.rows import address, rounds_in
from lessons.sending import need
from lessons.sending.models import Submission, SubmissionQuerySet
from reeds.photo.models.photo import Photo, PhotoState
from studio.access import MemberRequest
from studio.roles import teaching_only

PER_PAGE = 25


def _waiting(request: MemberRequest) -> SubmissionQuerySet:
    ready = Photo.objects.visible_to(request.member).shown().filter(state=PhotoState.READY)
    having = Looking.objects.visible_to(request.member).filter(has_it=True).select_related("member__person")
    rows = Submission.objects.visible_to(request.member).waiting().foremost().in_order_of_need()
    return rows.select_related("reed", "student__person").prefetch_related(
        Prefetch[str]("photos", ready, to_attr="ready"), Prefetch[str]("looking", having, to_attr="having")
    )


def _was_sent_any(request: MemberRequest) -> bool:
    return Submission.objects.visible_to(request.member).exclude(sent_at=None).exists()


@teaching_only
def queue(request: MemberRequest) -> HttpResponse:
    """What waits, and why it stands where it stands."""
    chosen = QueueFilter(request.member, request.GET or None)
    page = Paginator(chosen.narrow(_waiting(request)), PER_PAGE).get_page(request.GET.get("page"))
    now = timezone.now()
    shown = {
        "page": page,
        "is_new": not page and not _was_sent_any(request),
        "rows": [(row, need.reasons(row.weighed, now)) for row in page],
        "alike": alike_of(request.member),
        "chosen": chosen,
        "unheard": Answer.objects.visible_to(request.member).unheard(request.member),
        "just_sent": just_sent(request.member),
        "left_out": left_out(request.GET.getlist("skipped"), request.member),
        "unread": unread_replies(request.member),
        "table": need.table(),
    }
    return render(
        request, "lessons/answering/_queue.html" if request.htmx else "lessons/answering/queue.html", shown
    )


@require_safe
@teaching_only
def together(request: MemberRequest) -> HttpResponse:
    """Open the first of the reeds that were chosen, to answer the others with it."""
    rounds = rounds_in(request, request.GET.getlist("reed"))
    chosen = QueueFilter(request.member, request.GET or None)
    if not rounds:
        return redirect(address(request.member.to("lessons:queue"), chosen.query))
    first, *others = rounds
    where = request.member.to("lessons:review", first.pk)
    return redirect(address(where, chosen.query, also=[one.pk for one in others]))
