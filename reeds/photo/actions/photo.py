"""What people do with photos: one is kept, one that was not sent is taken back."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any

from django.core.files import File
from django.db import transaction
from django.utils import timezone

from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo, PhotoQuerySet
from reeds.photo.tasks.prepare import prepare_photo
from reeds.photo.uploads import check_upload
from reeds.reed.arrivals import check_consent, come_again, keep_arrived
from reeds.reed.models.reed import Reed
from studio.files import delete_after_commit
from studio.models import Member

MAX_PHOTOS = 8


def add_photo(reed: Reed, by: Member, upload: File[bytes], key: uuid.UUID, view: str = "") -> Photo:
    """Keep an upload and have the worker prepare it; the same key twice keeps one."""
    check_consent(reed, by)
    there = Photo.objects.filter(studio=reed.studio_id, reed=reed, key=key)
    if kept := there.first():
        return come_again(kept, prepare_photo)
    upload.name = f"raw{check_upload(upload)}"
    photo = Photo(studio_id=reed.studio_id, reed=reed, by=by, key=key, view=view, size_bytes=upload.size)
    photo.raw.save(upload.name, upload, save=False)
    return keep_arrived(photo, [photo.raw], there, prepare_photo)


@transaction.atomic
def take_back_photo(photo: Photo) -> None:
    """Take a photo back that was not sent: its row stays so that its key is not used again, its files go."""
    photo.refresh_from_db()  # the worker may have made its copies since this row was read
    Photo.objects.filter(pk=photo.pk, taken_back_at__isnull=True).update(
        taken_back_at=timezone.now(), upright="", large="", screen="", thumbnail=""
    )
    flat = [row.flat for row in PhotoMeasuring.objects.filter(photo=photo) if row.flat]
    PhotoMeasuring.objects.filter(photo=photo).delete()
    # the raw upload of one that still waits is deleted by its own task
    done = flat + [file for file in photo.files if not (photo.is_waiting and file == photo.raw)]
    delete_after_commit(done)


# the points and outlines that lay in the picture; lengths stay, with their doubts and where they came from
IN_THE_PICTURE: dict[str, Any] = {
    "markers": None,
    "proposed": {},
    "outline": None,
    "laid": None,
    "reference": {},
    "heights": [],
    "landmarks": {},
    "camera": None,
    "flat": "",
    "flat_of": None,
}


@transaction.atomic
def erase_photos(rows: PhotoQuerySet, at: dt.datetime) -> None:
    """Erase these photos for good: copies and upload, what was set on them. Rows and numbers stay.

    A worker that has one in hand finds it gone and deletes what it made.
    """
    photos = list(rows.kept().select_for_update())
    measurings = PhotoMeasuring.objects.filter(photo__in=photos)
    delete_after_commit(file for photo in photos for file in photo.files)
    delete_after_commit([row.flat for row in measurings])
    measurings.update(**IN_THE_PICTURE)
    Photo.objects.filter(pk__in=[photo.pk for photo in photos]).update(
        erased_at=at, taken_back_at=at, raw="", upright="", large="", screen="", thumbnail="", flaws=[]
    )
