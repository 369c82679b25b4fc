"""Slow work, done by the worker: load by id, compute, save. Running one twice is the same as once."""

from __future__ import annotations

from django_tasks import task

from reeds.apart import NOT_DONE
from reeds.numbers.words import gettext_noop
from reeds.photo.copies import copy_names, write_copies
from reeds.photo.models.photo import Photo, PhotoState
from reeds.photo.tasks.look import look_at_photo
from reeds.photo.uploads import prepared
from studio.errors import NotPossible
from studio.files import drop_upload

GONE = gettext_noop("The file of this photo is gone. Send it again.")
# a photo that can be seen goes before the card on another, which nobody waits for and which takes longer
FIRST = 10


@task(queue_name="pictures", priority=FIRST)
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
    drop_upload(photo, "raw")


def _prepared(photo: Photo) -> dict[str, object]:
    """Return the columns of the photo made ready, or refused with a sentence (the page translates it)."""
    try:
        with photo.raw.open("rb") as file:
            made = prepared(file.read(), photo.studio.zone)
    except FileNotFoundError:
        return {"state": PhotoState.REFUSED, "refusal": GONE}
    except NotPossible as refusal:
        return {"state": PhotoState.REFUSED, "refusal": str(refusal)}
    names = write_copies(photo.raw, made.pop("copies"))
    return {**made, **names, "state": PhotoState.READY}


def _settle(photo: Photo, columns: dict[str, object]) -> None:
    waiting = Photo.objects.filter(pk=photo.pk, state=PhotoState.WAITING, taken_back_at__isnull=True)
    if (
        not waiting.update(**columns)
        and Photo.objects.filter(pk=photo.pk, taken_back_at__isnull=False).exists()
    ):
        for name in copy_names(str(photo.raw.name)).values():
            photo.raw.storage.delete(name)


def _given_up(photo_id: int) -> None:
    waiting = Photo.objects.filter(pk=photo_id, state=PhotoState.WAITING)
    waiting.update(state=PhotoState.REFUSED, refusal=NOT_DONE)
    for photo in Photo.objects.filter(pk=photo_id).exclude(raw=""):
        drop_upload(photo, "raw")


GIVEN_UP = {"prepare_photo": _given_up}
