"""Reeds waiting for an answer, in the order of need."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from lessons.answering.forms.answer import QueueFilter
from lessons.answering.models import Answer, Looking
from lessons.answering.pages.unread import unread_replies
from lessons.sending import need
from lessons.sending.models import Submission, SubmissionQuerySet
from reeds.photo.models.photo import Photo, PhotoState
from studio.access import MemberRequest
from studio.roles import teachers_only

PER_PAGE = 25


def _waiting(request: MemberRequest) -> SubmissionQuerySet:
    ready = Photo.objects.visible_to(request.member).kept().filter(state=PhotoState.READY)
    having = Looking.objects.visible_to(request.member).filter(has_it=True).select_related("member__person")
    rows = Submission.objects.visible_to(request.member).waiting().foremost().in_order_of_need()
    return rows.select_related("reed", "student__person").prefetch_related(
        Prefetch[str]("photos", ready, to_attr="ready"), Prefetch[str]("looking", having, to_attr="having")
    )


@teachers_only
def queue(request: MemberRequest) -> HttpResponse:
    """What waits, and why it stands where it stands."""
    chosen = QueueFilter(request.member, request.GET or None)
    page = Paginator(chosen.narrow(_waiting(request)), PER_PAGE).get_page(request.GET.get("page"))
    now = timezone.now()
    just_sent = Answer.objects.visible_to(request.member).just_sent_by(request.member)
    shown = {
        "page": page,
        "rows": [(row, need.reasons(row.weighed, now)) for row in page],
        "chosen": chosen,
        "just_sent": just_sent.with_reeds(),
        "unread": unread_replies(request.member),
        "table": need.table(),
    }
    return render(
        request, "lessons/answering/_queue.html" if request.htmx else "lessons/answering/queue.html", shown
    )
