"""Reeds waiting for an answer, in the order of need."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from lessons.answering.forms.answer import QueueFilter
from lessons.answering.pages.alike import left_out, own_sendings
from lessons.answering.pages.queue import alike_in, lines, waiting_line
from lessons.answering.pages.unread import unread_replies
from lessons.answering.views.rows import address, rounds_in
from lessons.sending.models import Submission
from studio.access import MemberRequest
from studio.further import A_FEW, part_at_hand
from studio.roles import teaching_only

PER_PAGE = 25


def _was_sent_any(request: MemberRequest) -> bool:
    return Submission.objects.visible_to(request.member).exclude(sent_at=None).exists()


@teaching_only
def queue(request: MemberRequest) -> HttpResponse:
    """What waits, and why it stands where it stands."""
    chosen = QueueFilter(request.member, request.GET or None)
    unread = unread_replies(request.member)
    line = waiting_line(request.member, unread)
    page = Paginator(chosen.narrow(line), PER_PAGE).get_page(request.GET.get("page"))
    lately, unheard = own_sendings(request.member)
    shown = {
        "page": page,
        "is_new": not page and not _was_sent_any(request),
        "lines": lines(request.member, list(page), alike_in(line)),
        "chosen": chosen,
        "unheard": unheard,
        "just_sent": lately,
        "left_out": left_out(request.GET.getlist("skipped"), request.member),
        "unread": part_at_hand(unread, request.GET, "unread", A_FEW),
        "unread_here": len(unread),
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
