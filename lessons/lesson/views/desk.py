"""Where a student begins: what was answered, what waits, what is begun, what is to be made."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from lessons.answering.pages.unread import unread_replies
from lessons.lesson.models import Lesson, SetWork
from lessons.lesson.pages.desk import on_the_desk, ready_blanks, rounds_of
from lessons.lesson.pages.stock import stock_of
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.reed import Reed
from reeds.reed.thumbs import with_thumbs
from reeds.sheet.models.own import OwnQuantity
from studio.access import MemberRequest
from studio.models import Member
from studio.offline import kept_offline


@require_safe
@kept_offline
def desk(request: MemberRequest) -> HttpResponse:
    """Everything that lies before this student."""
    member = request.member
    set_work = SetWork.objects.visible_to(member).filter(student=member).still_asked()
    work = list(set_work.prefetch_related("reeds"))
    lots = CaneLot.objects.visible_to(member).in_use().filter(owner=member).counted()
    lessons = Lesson.objects.visible_to(member).filter(at__gte=timezone.now()).order_by("at")
    lying = on_the_desk(rounds_of(member))
    ready = _ready(member)
    with_thumbs(member, [*lying.reeds, *ready])
    unread = unread_replies(member)
    page = {
        "desk": lying,
        "unread": unread,
        "unread_here": lying.unread(unread),
        "ready": ready,
        "work": work,
        "stock": stock_of(lots, work),
        "lesson": lessons.first(),
        "today": timezone.localdate(),
    }
    return render(request, "lessons/lesson/desk.html", page)


def _ready(member: Member) -> list[Reed]:
    """Their own blanks that have rested enough; what the studio knows is asked for where there are any."""
    rows = Reed.objects.visible_to(member).at_rest().filter(owner=member).select_related("version")
    blanks = list(rows.defer("version__playing"))
    return list(ready_blanks(blanks, OwnQuantity.objects.visible_to(member).known())) if blanks else []
