"""Slow work, done by the worker: load by id, compute, save. Running one twice is the same as once."""

from __future__ import annotations

import io
from pathlib import PurePosixPath

from django.core.files.base import ContentFile
from django.core.files.storage import Storage
from django_tasks import task
from PIL import Image

from reeds.numbers.words import gettext_noop
from reeds.photo.models.photo import Photo, PhotoState
from reeds.photo.tasks.look import look_at_photo
from reeds.photo.uploads import read_upright
from reeds.photo.vision.decode import DecodedPhoto
from studio.errors import NotPossible

SCREEN = 1600
THUMBNAIL = 320
GONE = gettext_noop("The file of this photo is gone. Send it again.")


@task()
def prepare_photo(photo_id: int) -> None:
    """Make the upright copies of a photo and delete the raw upload.

    The copies' names follow from the raw file's, so a run that was killed in the middle is written over by
    the next one; the row is changed last, the raw file goes after the row.
    """
    photo = Photo.objects.filter(pk=photo_id).select_related("studio").first()
    if photo is None or not photo.raw:
        return  # all done before
    if photo.state == PhotoState.WAITING and photo.taken_back_at is None:
        _settle(photo, _prepared(photo))
        look_at_photo.enqueue(photo.pk)
    drop_raw(photo)


def _prepared(photo: Photo) -> dict[str, object]:
    """Return the columns of the photo made ready, or refused with a sentence (the page translates it)."""
    try:
        with photo.raw.open("rb") as file:
            decoded = read_upright(file.read(), photo.studio.zone)
    except FileNotFoundError:
        return {"state": PhotoState.REFUSED, "refusal": GONE}
    except NotPossible as refusal:
        return {"state": PhotoState.REFUSED, "refusal": str(refusal)}
    return {**_read(decoded), **_copies(photo, decoded.image), "state": PhotoState.READY}


def _read(decoded: DecodedPhoto) -> dict[str, object]:
    width, height = decoded.image.size
    stored_width, stored_height = decoded.stored_size
    return {
        "format": decoded.format,
        "orientation": decoded.orientation,
        "original_width": stored_width,
        "original_height": stored_height,
        "taken_at": decoded.taken_at,
        "focal_35mm": decoded.focal_35mm,
        "width": width,
        "height": height,
    }


def _copies(photo: Photo, picture: Image.Image) -> dict[str, object]:
    screen = _within(picture, SCREEN)
    copies = {
        "upright": _jpeg(picture, quality=95),
        "screen": _jpeg(screen, quality=82),
        "thumbnail": _jpeg(_within(screen, THUMBNAIL), quality=80),
    }
    names = copy_names(str(photo.raw.name))
    for copy, content in copies.items():
        _write(photo.raw.storage, names[copy], content)
    return {**names}


def copy_names(raw: str) -> dict[str, str]:
    """Return where the copies of a raw upload are: one path each, the same whenever it is asked."""
    stem = PurePosixPath(raw).with_suffix("")
    return {copy: f"{stem}-{copy}.jpg" for copy in ("upright", "screen", "thumbnail")}


def _write(storage: Storage, name: str, content: ContentFile[bytes]) -> None:
    storage.delete(name)  # what an earlier run, killed in the middle, left
    saved = storage.save(name, content)
    if saved != name:  # another run of the same task wrote the same picture at the same moment
        storage.delete(saved)


def _settle(photo: Photo, columns: dict[str, object]) -> None:
    waiting = Photo.objects.filter(pk=photo.pk, state=PhotoState.WAITING, taken_back_at__isnull=True)
    if (
        not waiting.update(**columns)
        and Photo.objects.filter(pk=photo.pk, taken_back_at__isnull=False).exists()
    ):
        for name in copy_names(str(photo.raw.name)).values():
            photo.raw.storage.delete(name)


def drop_raw(photo: Photo) -> None:
    """Delete the upload as it came: first the file, then its name, so that no file is ever forgotten."""
    photo.raw.storage.delete(str(photo.raw.name))
    Photo.objects.filter(pk=photo.pk).update(raw="")


def _within(picture: Image.Image, side: int) -> Image.Image:
    """Return a copy no larger than `side`; from the decoded picture this beats a second, drafted decoding."""
    share = min(1.0, side / max(picture.size))
    size = (max(1, round(picture.width * share)), max(1, round(picture.height * share)))
    return picture.resize(size, Image.Resampling.LANCZOS, reducing_gap=1.0)


def _jpeg(picture: Image.Image, quality: int) -> ContentFile[bytes]:
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", quality=quality, subsampling=0 if quality >= 95 else 2)
    return ContentFile(buffer.getvalue())
