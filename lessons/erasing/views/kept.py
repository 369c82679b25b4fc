"""The page of what is kept: for everybody, and with the times of a studio for its people."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lessons.erasing.kept import kept
from studio.access import MemberRequest
from studio.roles import guardians_too

PAGE = "lessons/erasing/kept.html"


@login_not_required
@require_safe
def of_the_site(request: HttpRequest) -> HttpResponse:
    """What any studio's people read, before they join too."""
    return render(request, PAGE, {"kept": kept()})


@guardians_too
@require_safe
def of_the_studio(request: MemberRequest) -> HttpResponse:
    """The same with the times that the studio chose."""
    return render(request, PAGE, {"kept": kept(request.member.studio)})
