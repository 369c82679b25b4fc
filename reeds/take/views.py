"""Takes: what was heard in one, its picture, and its sound for those who may hear it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import IO

from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils.cache import patch_cache_control
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from reeds.take.models import Take
from reeds.take.pages.noted import noted
from reeds.take.pages.sounding import shown_one, take_page
from reeds.take.ranges import NoSuchPart, part_asked
from reeds.take.sound.remux import CONTENT_TYPES
from studio.access import MemberRequest, fetch

BLOCK = 64 * 1024


def take_for(request: MemberRequest, pk: int) -> Take:
    """Return the take, or answer 404."""
    rows = Take.objects.visible_to(request.member)
    return fetch(rows.select_related("reed__owner__person", "reed__version"), request.member, pk)


@require_safe
def take(request: MemberRequest, pk: int) -> HttpResponse:
    """One take: its picture with its sound, its figures, the reference and the reed before under it."""
    one = take_for(request, pk)
    return render(
        request, "reeds/take/take.html", take_page(one, request.member, noted([one], request.member))
    )


@require_safe
@never_cache
def heard(request: MemberRequest, pk: int) -> HttpResponse:
    """What was heard so far; the page asks until it is there, then stops."""
    one = take_for(request, pk)
    tries = request.GET.get("tries", "")
    page = {
        "heard": shown_one(one, noted([one], request.member)),
        "tries": int(tries[:3]) if tries.isdecimal() else 1,
    }
    answer = render(request, "reeds/take/_take.html", page)
    if not one.is_waiting:
        answer["HX-Trigger"] = "take-heard"  # the page's checks may say more now
    return answer


@require_safe
def sound(request: MemberRequest, pk: int) -> HttpResponseBase:
    """The sound itself, whole or the part asked for; never the file as it came from the phone."""
    one = take_for(request, pk)
    if not one.is_ready or not one.file or one.content_type not in CONTENT_TYPES:
        raise Http404
    try:
        file = one.file.open("rb")
    except FileNotFoundError:
        raise Http404 from None
    return _with_headers(_sent(request, file, one.file.size, one.content_type))


def _sent(request: MemberRequest, file: IO[bytes], size: int, content_type: str) -> HttpResponseBase:
    try:
        part = part_asked(request.headers.get("Range", ""), size)
    except NoSuchPart:
        file.close()
        return HttpResponse(status=416, headers={"Content-Range": f"bytes */{size}"})
    first, last = part or (0, size - 1)
    answer = StreamingHttpResponse(_Part(file, first, last), content_type=content_type)
    answer["Content-Length"] = str(last - first + 1)
    if part:
        answer.status_code = 206
        answer["Content-Range"] = f"bytes {first}-{last}/{size}"
    return answer


def _with_headers(answer: HttpResponseBase) -> HttpResponseBase:
    answer["Accept-Ranges"] = "bytes"
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Disposition"] = "inline"
    patch_cache_control(answer, private=True, max_age=3600)
    return answer


class _Part:
    """A part of a file, block by block; it closes the file also where nobody reads it (HEAD)."""

    def __init__(self, file: IO[bytes], first: int, last: int) -> None:
        self.file, self.first, self.last = file, first, last

    def __iter__(self) -> Iterator[bytes]:
        self.file.seek(self.first)
        left = self.last - self.first + 1
        while left > 0 and (block := self.file.read(min(BLOCK, left))):
            left -= len(block)
            yield block

    def close(self) -> None:
        self.file.close()
