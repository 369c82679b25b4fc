"""What people ask of the worker: look at a photo, lay it flat. Asked twice is asked once."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from reeds.photo.models.measuring import LookState, PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.tasks.look import flatten_photo, look_at_photo


@transaction.atomic
def ask_to_look(photo: Photo) -> None:
    """Have a photo looked at for what it is said to show; one that is being prepared will be by itself."""
    if not photo.is_ready or PhotoMeasuring.objects.of(photo).is_asked_for:
        return
    row = PhotoMeasuring.objects.begun(photo)
    again = {"state": LookState.WAITING, "looked_for": "", "asked_at": timezone.now()}
    PhotoMeasuring.objects.filter(pk=row.pk).update(**again)
    look_at_photo.enqueue(photo.pk)


def ask_to_flatten(row: PhotoMeasuring) -> None:
    """Have the flat cut of a measured photo made, if it is not there."""
    if not row.is_flat:
        flatten_photo.enqueue(row.photo_id)
