"""Where one arrives."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from studio.access import MemberRequest
from studio.models import studios_of


def start(request: HttpRequest) -> HttpResponse:
    """Go to the only studio one is in, or choose among several."""
    members = studios_of(request.user)
    if len(members) == 1:
        return redirect(members[0].to("home"))
    return render(request, "studio/start.html", {"members": members})


def home(request: MemberRequest) -> HttpResponse:
    """A teacher begins with the reeds that wait, a student with their own desk."""
    return redirect(request.member.to("lessons:queue" if request.member.teaches else "lessons:desk"))
