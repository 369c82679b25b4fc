"""The rows that both measuring pages take: a photo, and what is known of it."""

from __future__ import annotations

from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from studio.access import MemberRequest, fetch

NOT_READY = "reeds/photo/measure_not_ready.html"


def photo_for(request: MemberRequest, pk: int) -> Photo:
    """Return the photo with its reed, or answer 404."""
    rows = Photo.objects.visible_to(request.member)
    return fetch(rows.select_related("reed__owner__person", "reed__version__pattern"), request.member, pk)


def measuring_of(request: MemberRequest, photo: Photo) -> PhotoMeasuring:
    """Return what is known of a photo the member may see; not stored where nobody asked for it yet."""
    return PhotoMeasuring.objects.visible_to(request.member).of(photo)


def leads_back(request: MemberRequest) -> bool:
    """Whether one came from a round that is not sent yet, and goes back there once figures are kept."""
    return "draft" in (request.GET.get("back"), request.POST.get("back"))


def onwards(request: MemberRequest, photo: Photo) -> str:
    """Return where one goes once figures are kept: back to the round, else to the reed."""
    name = "lessons:draft" if leads_back(request) else "reeds:reed"
    return request.member.to(name, photo.reed_id)
