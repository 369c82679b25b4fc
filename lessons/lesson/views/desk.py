"""Where a student begins: what was answered, what waits, what is begun, what is to be made."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from lessons.answering.pages.unread import unread_replies
from lessons.lesson.models import asked_since
from lessons.lesson.pages.desk import next_lesson, on_the_desk, ready_blanks, rounds_of, work_for
from lessons.lesson.pages.stock import counted_lots, stock_of
from reeds.reed.thumbs import with_thumbs
from studio.access import MemberRequest
from studio.offline import kept_offline


@require_safe
@kept_offline
def desk(request: MemberRequest) -> HttpResponse:
    """Everything that lies before this student."""
    member = request.member
    lying = on_the_desk(rounds_of(member))
    ready = ready_blanks(member)
    with_thumbs(member, [*lying.reeds, *ready])
    unread = unread_replies(member)
    work = work_for(member, asked_since())
    page = {
        "desk": lying,
        "unread": unread,
        "unread_here": lying.unread(unread),
        "ready": ready,
        "work": work,
        "stock": stock_of(counted_lots(member), work),
        "lesson": next(iter(next_lesson(member, timezone.now())), None),
        "today": timezone.localdate(),
    }
    return render(request, "lessons/lesson/desk.html", page)
