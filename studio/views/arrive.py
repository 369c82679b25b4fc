"""Where one arrives."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from studio.access import MemberRequest
from studio.models import studios_of
from studio.roles import guardians_too


def start(request: HttpRequest) -> HttpResponse:
    """Go to the only studio one is in, or choose among several."""
    members = studios_of(request.user)
    if len(members) == 1:
        return redirect(members[0].to("home"))
    return render(request, "studio/start.html", {"members": members})


@guardians_too
def home(request: MemberRequest) -> HttpResponse:
    """A teacher begins with the reeds that wait, a student with their desk, a guardian with the children."""
    member = request.member
    if member.is_guardian:
        return redirect(member.to("lessons:children"))
    return redirect(member.to("lessons:queue" if member.teaches else "lessons:desk"))
