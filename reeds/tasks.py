"""Slow work, done by the worker: load by id, compute, save. Running one twice is the same as once."""

from __future__ import annotations

import io

from django.core.files.base import ContentFile
from django_tasks import task
from PIL import Image

from reeds.models import Photo, PhotoState
from reeds.uploads import Upright, read_upright
from studio.errors import NotPossible

SCREEN = 1600
THUMBNAIL = 320


@task()
def prepare_photo(photo_id: int) -> None:
    """Make the upright copies of a photo and delete the raw upload."""
    photo = Photo.objects.filter(pk=photo_id, state=PhotoState.WAITING).first()
    if photo is None:
        return  # done already, or taken back meanwhile
    try:
        with photo.raw.open("rb") as file:
            upright = read_upright(file.read())
    except FileNotFoundError:
        _refuse(photo, "The file of this photo is gone. Send it again.")
    except NotPossible as refusal:
        _refuse(photo, str(refusal))
    else:
        _keep(photo, upright)


def _refuse(photo: Photo, why: str) -> None:
    photo.state, photo.refusal = PhotoState.REFUSED, why
    _drop_raw(photo)


def _keep(photo: Photo, upright: Upright) -> None:
    photo.upright.save("upright.jpg", _jpeg(upright.picture, quality=95), save=False)
    photo.screen.save("screen.jpg", _jpeg(_within(upright.picture, SCREEN), quality=82), save=False)
    photo.thumbnail.save("thumbnail.jpg", _jpeg(_within(upright.picture, THUMBNAIL), quality=80), save=False)
    photo.format, photo.orientation = upright.format, upright.orientation
    photo.original_width, photo.original_height = upright.original_width, upright.original_height
    photo.taken_at, photo.focal_35mm = upright.taken_at, upright.focal_35mm
    photo.width, photo.height = upright.picture.size
    photo.state = PhotoState.READY
    _drop_raw(photo)


def _drop_raw(photo: Photo) -> None:
    raw = photo.raw.name
    photo.raw = ""
    photo.save()
    if raw:
        photo.raw.storage.delete(raw)


def _within(picture: Image.Image, side: int) -> Image.Image:
    smaller = picture.copy()
    smaller.thumbnail((side, side), Image.Resampling.LANCZOS, reducing_gap=3.0)
    return smaller


def _jpeg(picture: Image.Image, quality: int) -> ContentFile[bytes]:
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", quality=quality, subsampling=0 if quality >= 95 else 2)
    return ContentFile(buffer.getvalue())
