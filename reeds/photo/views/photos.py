"""A photo's file: only through this page, and only to those who may see the reed."""

from __future__ import annotations

from django.http import FileResponse, Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.template.loader import render_to_string
from django.utils.cache import patch_cache_control
from django.views.decorators.http import require_safe

from reeds.photo.models.photo import Photo
from studio.access import MemberRequest, fetch
from studio.journal import Thing, note_opened

SIZES = frozenset({"upright", "screen", "thumbnail"})


@require_safe
def photo_file(request: MemberRequest, pk: int, size: str) -> HttpResponseBase:
    """Answer with one of the prepared copies; never with the raw upload."""
    photo = fetch(Photo.objects.select_related("reed"), request.member, pk)
    if size not in SIZES or not photo.is_ready:
        raise Http404
    try:
        answer = FileResponse(getattr(photo, size).open("rb"), content_type="image/jpeg")
    except FileNotFoundError:
        return _gone()
    note_opened(request.member, Thing.PHOTO, photo, photo.reed.owner_id)
    patch_cache_control(answer, private=True, max_age=3600)
    return answer


def _gone() -> HttpResponse:
    """Answer with a picture of a sentence: browsers show it where the photo would be."""
    answer = HttpResponse(render_to_string("reeds/photo/gone.svg"), content_type="image/svg+xml", status=404)
    answer["Cache-Control"] = "no-store"
    return answer
