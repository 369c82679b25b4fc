"""Where a student begins: what was answered, what waits, what is begun, what is to be made."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from lessons.answering.pages.unread import unread_replies
from lessons.lesson.models import asked_since
from lessons.lesson.pages.desk import desk_of, next_lesson, work_for
from lessons.lesson.pages.stock import counted_lots, stock_of
from reeds.reed.pages import blanks_of
from reeds.reed.thumbs import thumbs_of
from studio.access import MemberRequest
from studio.further import A_FEW, part_at_hand
from studio.offline import kept_offline


@require_safe
@kept_offline
def desk(request: MemberRequest) -> HttpResponse:
    """Everything that lies before this student."""
    member, asked, now = request.member, request.GET, timezone.now()
    lying = desk_of(member, asked)
    rested = [blank for blank in blanks_of(member, own=True) if blank.ready_at <= now]
    ready = part_at_hand(rested, asked, "ready", A_FEW)
    work = work_for(member, asked_since())
    unread = unread_replies(member)
    reeds = {*(row.reed for row in lying.rounds), *(blank.pk for blank in ready.rows)}
    page = {
        "desk": lying,
        "unread": part_at_hand(unread, asked, "unread", A_FEW),
        "unread_here": len({*lying.not_read, *(one.pk for one in unread)}),
        "ready": ready,
        "thumbs": thumbs_of(member, reeds),
        "work": part_at_hand(work, asked, "work", A_FEW),
        "stock": stock_of(counted_lots(member), [(piece.asked, piece.made) for piece in work]),
        "lesson": next(iter(next_lesson(member, now)), None),
        "today": timezone.localdate(),
        "now": now,
    }
    return render(request, "lessons/lesson/desk.html", page)
