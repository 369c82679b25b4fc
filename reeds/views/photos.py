"""A photo's file: only through this page, and only to those who may see the reed."""

from __future__ import annotations

from django.http import FileResponse, Http404
from django.views.decorators.cache import cache_control

from reeds.models import Photo
from studio.access import MemberRequest, fetch

SIZES = frozenset({"upright", "screen", "thumbnail"})


@cache_control(private=True, max_age=3600)
def photo_file(request: MemberRequest, pk: int, size: str) -> FileResponse:
    """Answer with one of the prepared copies; never with the raw upload."""
    photo = fetch(Photo, request.member, pk)
    if size not in SIZES or not photo.is_ready:
        raise Http404
    try:
        return FileResponse(getattr(photo, size).open("rb"), content_type="image/jpeg")
    except FileNotFoundError:
        raise Http404 from None
