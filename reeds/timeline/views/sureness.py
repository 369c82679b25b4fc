"""How sure is it? What each figure of a photo or a recording rests on, and what it was tried on."""

from __future__ import annotations

import datetime as dt

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from reeds.timeline import tried
from studio.access import MemberRequest
from studio.roles import guardians_too


@guardians_too
@require_safe
def how_sure(request: MemberRequest) -> HttpResponse:
    """The page in plain words, the same for everybody."""
    page = {
        "photos": tried.PHOTOS,
        "takes": tried.TAKES,
        "tried_on": dt.date.fromisoformat(tried.TRIED_ON),
    }
    return render(request, "reeds/timeline/how_sure.html", page)
