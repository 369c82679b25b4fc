"""Two measured photos side by side, or over one another, at one true scale."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from reeds.photo.actions.look import ask_to_flatten
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.pages.comparing import (
    differences,
    groups,
    measured_photo,
    measured_photos,
    ruler,
)
from reeds.photo.served import kept_file
from studio.access import MemberRequest
from studio.asked import tries_in
from studio.journal import Thing, note_opened
from studio.roles import guardians_too


def _asked(request: MemberRequest, name: str) -> PhotoMeasuring | None:
    text = request.GET.get(name, "")
    if not text:
        return None
    if not text.isdecimal() or len(text) > 12:
        raise Http404
    return measured_photo(request.member, int(text))


@require_safe
@never_cache
def compare(request: MemberRequest) -> HttpResponse:
    """Choose two measured photos and see them at the same scale."""
    first, second = _asked(request, "a"), _asked(request, "b")
    chosen = [row for row in (first, second) if row]
    page = {
        "first": first,
        "second": second,
        "choices": groups(measured_photos(request.member), first),
        "waiting": [row for row in chosen if not row.is_flat],
        "differences": differences(first, second) if first and second else [],
        "ruler": ruler(),
        "tries": 0,
    }
    return render(request, "reeds/photo/compare.html", page)


@require_POST
def flatten(request: MemberRequest, pk: int) -> HttpResponse:
    """Have a photo's flat cut made."""
    row = measured_photo(request.member, pk)
    ask_to_flatten(row)
    if request.htmx:
        return render(request, "reeds/photo/_flattening.html", {"row": row, "tries": 1})
    return redirect(f"{request.member.to('reeds:compare')}?a={row.photo_id}")


@require_safe
@never_cache
def flattening(request: MemberRequest, pk: int) -> HttpResponse:
    """Say whether a photo's flat cut is there; once it is, the page is told to open itself anew."""
    row = measured_photo(request.member, pk)
    page = {"row": row, "tries": tries_in(request)}
    answer = render(request, "reeds/photo/_flattening.html", page)
    if row.is_flat:
        answer["HX-Refresh"] = "true"
    return answer


@guardians_too
@require_safe
def flat(request: MemberRequest, pk: int) -> HttpResponseBase:
    """Answer with the flat cut of a measured photo."""
    row = measured_photo(request.member, pk)
    answer = kept_file(request, row.flat) if row.flat else None
    if answer is None:
        raise Http404
    note_opened(request.member, Thing.PHOTO, row.photo, row.photo.reed.owner_id)
    return answer
