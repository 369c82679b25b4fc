"""A member's calendar: the page where its link is made and taken back, and the calendar itself."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import patch_cache_control
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from lessons.calendar import actions
from lessons.calendar.models import CalendarLink, member_of
from lessons.calendar.pages import calendar_of
from studio.access import MemberRequest
from studio.links import qr

# calendars ask every few hours; asked more often, the answer of a moment ago will do
FRESH_S = 300


@require_safe
@never_cache
def calendar(request: MemberRequest) -> HttpResponse:
    """Say whether there is a link, and since when; the link itself is shown only when it is made."""
    return _page(request)


@require_POST
@never_cache
def make(request: MemberRequest) -> HttpResponse:
    """Make a link, show it this once; an earlier one ends."""
    token = actions.make_link(request.member)
    address = request.build_absolute_uri(reverse("calendar_feed", args=[token]))
    return _page(request, link=address, qr=qr(address))


def _page(request: MemberRequest, **more: object) -> HttpResponse:
    made = CalendarLink.objects.visible_to(request.member).first()
    return render(request, "lessons/calendar/calendar.html", {"made": made, **more})


@require_POST
def take_back(request: MemberRequest) -> HttpResponse:
    """End the link: whoever has it finds nothing from now on."""
    actions.take_back(request.member)
    messages.success(request, _("The link no longer works."))
    return redirect(request.member.to("lessons:calendar"))


@login_not_required
@require_safe
def feed(_request: HttpRequest, token: str) -> HttpResponse:
    """Give out the calendar to whoever has its link; it needs no session and leaves none behind."""
    member = member_of(token)
    if member is None:
        raise Http404
    answer = HttpResponse(calendar_of(member, timezone.now()), content_type="text/calendar; charset=utf-8")
    answer["Content-Disposition"] = 'inline; filename="reeds.ics"'
    answer["Referrer-Policy"] = "no-referrer"
    patch_cache_control(answer, private=True, max_age=FRESH_S)
    return answer
