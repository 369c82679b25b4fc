"""Takes: what was heard in one, its picture, and its sound for those who may hear it."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from reeds.take.models import Take
from reeds.take.pages.noted import noted
from reeds.take.pages.sounding import shown_one, take_page
from reeds.take.sound.kinds import CONTENT_TYPES
from reeds.take.streamed import streamed
from studio.access import MemberRequest, fetch
from studio.asked import tries_in
from studio.journal import Thing, note_opened
from studio.roles import guardians_too


def take_for(request: MemberRequest, pk: int) -> Take:
    """Return the take, or answer 404."""
    rows = Take.objects.visible_to(request.member)
    return fetch(rows.select_related("reed__owner__person", "reed__version"), request.member, pk)


@guardians_too
@require_safe
def take(request: MemberRequest, pk: int) -> HttpResponse:
    """One take: its picture with its sound, its figures, the reference and the reed before under it."""
    one = take_for(request, pk)
    note_opened(request.member, Thing.TAKE, one, one.reed.owner_id)
    return render(
        request, "reeds/take/take.html", take_page(one, request.member, noted([one], request.member))
    )


@guardians_too
@require_safe
@never_cache
def heard(request: MemberRequest, pk: int) -> HttpResponse:
    """What was heard so far; the page asks until it is there, then stops."""
    one = take_for(request, pk)
    page = {
        "heard": shown_one(one, noted([one], request.member)),
        "tries": tries_in(request),
    }
    answer = render(request, "reeds/take/_take.html", page)
    if not one.is_waiting:
        answer["HX-Trigger"] = "take-heard"  # the page's checks may say more now
    return answer


@guardians_too
@require_safe
def sound(request: MemberRequest, pk: int) -> HttpResponseBase:
    """The sound itself, whole or the part asked for; never the file as it came from the phone."""
    one = take_for(request, pk)
    if one.hidden_words or not one.is_ready or not one.file or one.content_type not in CONTENT_TYPES:
        raise Http404
    note_opened(request.member, Thing.TAKE, one, one.reed.owner_id)
    return streamed(request, *one.played)
