"""Slow work, done by the worker: load by id, compute, save. Running one twice is the same as once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django_tasks import task

from reeds.apart import NOT_DONE
from reeds.numbers.words import gettext_noop
from reeds.photo.copies import copy_names, write_copies
from reeds.photo.models.measuring import OPENING, wanted_in
from reeds.photo.models.photo import Photo, PhotoState
from reeds.photo.tasks.look import Found, look_at_photo, look_on
from reeds.photo.uploads import prepared, prepared_to_look
from studio.errors import NotPossible
from studio.files import drop_upload
from studio.queues import waiting

GONE = gettext_noop("The file of this photo is gone. Send it again.")
# a photo that can be seen goes before the card on another, which nobody waits for and which takes longer:
# where others wait to be seen, one is looked at after them
FIRST = 10


@task(queue_name="pictures", priority=FIRST)
def prepare_photo(photo_id: int) -> None:
    """Make the upright copies of a photo, delete the raw upload, look at the picture while it is in memory.

    The copies' names follow from the raw file's, so a run that was killed in the middle is written over by
    the next one; the row is changed once they are there, the raw file goes after the row. A run after one
    that was killed later has the kept copy looked at, in a task that knows whether that was done.
    """
    photo = Photo.objects.filter(pk=photo_id).select_related("studio").first()
    if photo is None:
        return
    further = None
    if photo.raw and photo.state == PhotoState.WAITING and photo.taken_back_at is None:
        columns, further = _prepared(photo)
        _settle(photo, columns)
    if photo.raw:
        drop_upload(photo, "raw")
    if further is None:
        look_at_photo.enqueue(photo.pk)
    else:
        look_on(photo.pk, wanted_in(photo), further)


def _prepared(photo: Photo) -> tuple[dict[str, object], Iterator[Found] | None]:
    """Return the columns of the photo made ready, or refused with a sentence (the page translates it).

    Beside them what will be found in the picture; None where it is not looked at now.
    """
    try:
        with photo.raw.open("rb") as file:
            made, further = _made(file.read(), photo)
    except FileNotFoundError:
        return {"state": PhotoState.REFUSED, "refusal": GONE}, None
    except NotPossible as refusal:
        return {"state": PhotoState.REFUSED, "refusal": str(refusal)}, None
    names = write_copies(photo.raw, made.pop("copies"))
    return {**made, **names, "state": PhotoState.READY}, further


def _made(data: bytes, photo: Photo) -> tuple[dict[str, Any], Iterator[Found] | None]:
    zone = photo.studio.zone
    if waiting(["pictures"]).filter(priority__gte=FIRST).exists():
        return prepared(data, zone), None
    return prepared_to_look(data, zone, wanted_in(photo), OPENING)


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
