"""The original of a photo that came smaller at first, on a poor line. Twice is the same as once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.db import transaction
from django_tasks import task

from reeds.photo.copies import copy_names, write_copies
from reeds.photo.models.measuring import OPENING, PhotoMeasuring, wanted_in
from reeds.photo.models.photo import Photo
from reeds.photo.tasks.look import Found, look_at_photo, look_on
from reeds.photo.uploads import prepared_to_look
from reeds.reed.models.reed import Reed
from studio.errors import NotPossible
from studio.files import delete_after_commit, drop_upload

SAME_SHAPE = 0.01  # so far may the two shapes differ, which the phone rounded to whole pixels


@task(queue_name="pictures")
def put_original(photo_id: int) -> None:
    """Put the original in place of the smaller picture, unless somebody measured on that meanwhile.

    Marks lie in fractions of the picture, so they stay where they were drawn; the card is looked for anew.
    """
    photo = Photo.objects.unmeasured().filter(pk=photo_id).exclude(raw="").select_related("studio").first()
    if photo is None:
        _given_up(photo_id)
        return
    made = _made(photo)
    if made and _is_the_same_larger(photo, made[0]) and _swap(photo, made[0]):
        look_on(photo.pk, wanted_in(photo), made[1])
    else:  # also of a run that was killed before it had looked; who was looked at is not looked at again
        look_at_photo.enqueue(photo.pk)
    drop_upload(photo, "raw")


def _made(photo: Photo) -> tuple[dict[str, Any], Iterator[Found]] | None:
    try:
        with photo.raw.open("rb") as file:
            return prepared_to_look(file.read(), photo.studio.zone, wanted_in(photo), OPENING)
    except (FileNotFoundError, NotPossible):
        return None  # the smaller one stays


def _is_the_same_larger(photo: Photo, made: dict[str, Any]) -> bool:
    width, height = photo.width or 1, photo.height or 1
    now, high = int(made["width"]), int(made["height"])
    return now > width and abs(now * height - width * high) <= SAME_SHAPE * now * height


def _swap(photo: Photo, made: dict[str, Any]) -> bool:
    old = [photo.upright, photo.screen, photo.thumbnail]
    names = write_copies(photo.raw, made.pop("copies"))
    columns = {**made, **names, "size_bytes": photo.raw.size}
    with transaction.atomic():
        Reed.objects.select_for_update().get(
            pk=photo.reed_id
        )  # numbers of its photos are kept under this lock
        there = Photo.objects.filter(pk__in=Photo.objects.unmeasured().filter(pk=photo.pk).values("pk"))
        swapped = there.update(**columns)
        if swapped:
            PhotoMeasuring.objects.filter(photo=photo).delete()
            delete_after_commit(old)
    if not swapped:
        for name in copy_names(str(photo.raw.name)).values():
            photo.raw.storage.delete(name)
    return bool(swapped)


def _given_up(photo_id: int) -> None:
    """Drop what came; the smaller one stays."""
    for photo in Photo.objects.filter(pk=photo_id, state="ready").exclude(raw=""):
        drop_upload(photo, "raw")


GIVEN_UP = {"put_original": _given_up}
