"""A photo that went smaller on a poor line gets its original afterwards, under the same key."""

from __future__ import annotations

from django.core.files import File
from django.db import transaction

from reeds.photo.models.photo import Photo
from reeds.photo.tasks.original import put_original
from reeds.photo.uploads import check_upload
from reeds.reed.arrivals import check_consent
from studio.models import Member


@transaction.atomic
def take_original(photo: Photo, by: Member, upload: File[bytes]) -> bool:
    """Keep the original of a photo and have the worker put it in its place; twice is once.

    False where somebody measured on the smaller one already: numbers were read off it, so it stays. So it
    does where the original came before.
    """
    check_consent(photo.reed, by)
    upload.name = f"raw{check_upload(upload)}"
    unmeasured = Photo.objects.unmeasured().filter(pk=photo.pk)
    there = unmeasured.filter(raw="").select_for_update(of=("self",)).first()
    if there is None or (upload.size or 0) <= (there.size_bytes or 0):
        return unmeasured.exists()
    there.raw.save(upload.name, upload, save=False)
    Photo.objects.filter(pk=there.pk).update(raw=there.raw.name)
    put_original.enqueue(there.pk)
    return True
