"""What people do with photos: one is kept, one that was not sent is taken back."""

from __future__ import annotations

import uuid
from functools import partial

from django.core.files import File
from django.db import transaction
from django.db.models.fields.files import FieldFile
from django.utils import timezone
from django.utils.translation import gettext as _

from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.tasks.prepare import prepare_photo
from reeds.photo.uploads import check_upload
from reeds.reed.arrivals import keep_arrived
from reeds.reed.models.reed import Reed
from studio.errors import NotPossible
from studio.models import Member

MAX_PHOTOS = 8


def add_photo(reed: Reed, by: Member, upload: File[bytes], key: uuid.UUID, view: str = "") -> Photo:
    """Keep an upload and have the worker prepare it; the same key twice keeps one."""
    if not by.may_send_pictures:
        raise NotPossible(_("Photos can be sent once your teacher has noted your guardian's consent."))
    there = Photo.objects.filter(reed=reed, key=key)
    if kept := there.first():
        return kept
    upload.name = f"raw{check_upload(upload)}"
    photo = Photo(studio_id=reed.studio_id, reed=reed, by=by, key=key, view=view, size_bytes=upload.size)
    photo.raw.save(upload.name, upload, save=False)
    return keep_arrived(photo, [photo.raw], there, prepare_photo)


@transaction.atomic
def take_back_photo(photo: Photo) -> None:
    """Take a photo back that was not sent: its row stays so that its key is not used again, its files go."""
    photo.refresh_from_db()  # the worker may have made its copies since this row was read
    Photo.objects.filter(pk=photo.pk, taken_back_at__isnull=True).update(
        taken_back_at=timezone.now(), upright="", screen="", thumbnail=""
    )
    flat = [row.flat for row in PhotoMeasuring.objects.filter(photo=photo) if row.flat]
    PhotoMeasuring.objects.filter(photo=photo).delete()
    # the raw upload of one that still waits is deleted by its own task
    done = flat + [file for file in photo.files if not (photo.is_waiting and file == photo.raw)]
    transaction.on_commit(partial(_delete, done))


def _delete(files: list[FieldFile]) -> None:
    for file in files:
        file.storage.delete(str(file.name))
