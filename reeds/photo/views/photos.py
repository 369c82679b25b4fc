"""A photo's file: only through this page, and only to those who may see the reed."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.template.loader import render_to_string
from django.views.decorators.http import require_safe

from reeds.photo.models.photo import Photo
from reeds.photo.served import kept_file
from studio.access import MemberRequest, fetch
from studio.journal import Thing, note_opened
from studio.offline import keeps_offline
from studio.roles import guardians_too

SIZES = frozenset({"upright", "large", "screen", "thumbnail"})


@guardians_too
@require_safe
def photo_file(request: MemberRequest, pk: int, size: str) -> HttpResponseBase:
    """Answer with one of the prepared copies; never with the raw upload."""
    photo = fetch(Photo, request.member, pk)
    if photo.hidden_words:
        return _instead("reeds/photo/hidden.svg", words=photo.hidden_words)
    if size not in SIZES or not photo.is_ready:
        raise Http404
    kept = getattr(photo, size) or photo.upright  # one that is no larger has no large copy of its own
    answer = kept_file(request, kept, by_us=_is_sent_by_us(request, size))
    if answer is None:
        return _instead("reeds/photo/gone.svg")
    note_opened(request.member, Thing.PHOTO, photo, photo.reed.owner_id)
    return answer


def _is_sent_by_us(request: MemberRequest, size: str) -> bool:
    """Whether a copy is not worth a way to the bucket, or kept by a phone that asks for whom it was made."""
    return size == "thumbnail" or (size == "screen" and keeps_offline(request.member))


def _instead(template: str, **words: str) -> HttpResponse:
    """Answer with a picture of a sentence: browsers show it where the photo would be."""
    answer = HttpResponse(render_to_string(template, words), content_type="image/svg+xml", status=404)
    answer["Cache-Control"] = "no-store"
    return answer
