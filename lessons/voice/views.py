"""A teacher's note as it is heard, by those who may."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from lessons.voice.models import Voice
from reeds.take.streamed import streamed
from studio.access import MemberRequest, fetch
from studio.asked import tries_in
from studio.roles import guardians_too


@guardians_too
@require_safe
@never_cache
def heard(request: MemberRequest, pk: int) -> HttpResponse:
    """Show how far the server is with it; the page asks until it is ready, then stops."""
    page = {
        "voice": fetch(Voice, request.member, pk),
        "tries": tries_in(request),
    }
    return render(request, "lessons/voice/_voice.html", page)


@guardians_too
@require_safe
def sound(request: MemberRequest, pk: int) -> HttpResponseBase:
    """The sound itself, whole or the part asked for; never the file as it came."""
    voice = fetch(Voice, request.member, pk)
    if not voice.sound_is_ready or not voice.sound:
        raise Http404
    return streamed(request, *voice.played)
