"""Looking at photos, done by the worker: the card, the landmarks, the flat cut. Twice is the same as once."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator
from pathlib import PurePosixPath
from typing import Any

from django.core.files.base import ContentFile
from django_tasks import task

from reeds.apart import BROKE, NOT_DONE, apart
from reeds.numbers.words import Refused, gettext_noop
from reeds.photo.models.measuring import OPENING, LookState, PhotoMeasuring, wanted_in
from reeds.photo.models.photo import Photo, PhotoState

Found = dict[str, Any]

JOBS = "reeds.photo.vision.jobs"
GONE = gettext_noop("The file of this photo is gone. Send it again.")


@task(queue_name="pictures")
def look_at_photo(photo_id: int) -> None:
    """Find the card and propose landmarks, or find the opening's outline; keep why not where it cannot."""
    photo = _ready(photo_id)
    if photo is None:
        return
    row = PhotoMeasuring.objects.begun(photo)
    if row.is_looked_at:
        return  # done before
    wanted = wanted_in(photo)
    _keep(row, wanted, _said(lambda: apart(f"{JOBS}:look", *_upright(photo), wanted, OPENING)))


def look_on(photo_id: int, wanted: str, further: Iterator[Found]) -> None:
    """Keep what is found in a picture that is still in memory; where that broke off, look at the kept copy.

    So is it done where somebody said meanwhile that the photo shows something else.
    """
    found = _said(lambda: {name: value for part in further for name, value in part.items()})
    photo = _ready(photo_id)
    if photo is None:
        return
    if wanted != wanted_in(photo) or found.get("refusal") == BROKE:
        look_at_photo.enqueue(photo.pk)
    else:
        _keep(PhotoMeasuring.objects.begun(photo), wanted, found)


def _ready(photo_id: int) -> Photo | None:
    return Photo.objects.kept().filter(pk=photo_id, state=PhotoState.READY).first()


def _keep(row: PhotoMeasuring, wanted: str, found: Found) -> None:
    rows = PhotoMeasuring.objects.filter(pk=row.pk, photo__taken_back_at__isnull=True)
    rows.update(**found, looked_for=wanted)


def _said(look: Callable[[], Found]) -> Found:
    try:
        return {"state": LookState.FOUND, **look()}
    except FileNotFoundError:
        return {"state": LookState.NOT_FOUND, "refusal": GONE}
    except Refused as refusal:
        return {"state": LookState.NOT_FOUND, "refusal": refusal.sentence}


def _upright(photo: Photo) -> tuple[bytes, float | None]:
    with photo.upright.open("rb") as file:
        return file.read(), photo.usual_focal


@task(queue_name="pictures")
def flatten_photo(photo_id: int) -> None:
    """Cut a measured photo out flat at true scale; drop the cut it replaces."""
    row = PhotoMeasuring.objects.measured().filter(photo=photo_id).select_related("photo").first()
    if row is None or row.flat_of == row.measured_at or row.photo.taken_back_at:
        return
    kept = row.kept
    if kept.camera is None:
        return
    try:
        by = (kept.camera.numbers.tolist(), dict(kept.landmarks), tuple(kept.camera.heights))
        flat: bytes = apart(f"{JOBS}:cut_out", *_upright(row.photo), *by)
    except (Refused, FileNotFoundError):
        return
    old, row.flat_of = row.flat.name, row.measured_at
    row.flat.save(_beside(row.photo), ContentFile(flat), save=False)
    rows = PhotoMeasuring.objects.filter(pk=row.pk, photo__taken_back_at__isnull=True)
    kept_now = rows.update(flat=row.flat.name, flat_of=row.flat_of)
    # what it replaces, or the cut itself of a photo that went meanwhile
    if gone := old if kept_now else row.flat.name:
        row.flat.storage.delete(gone)


def _beside(photo: Photo) -> str:
    # a name of its own each time, so that no browser shows the cut of landmarks that were moved since
    return str(PurePosixPath(str(photo.upright.name)).with_name(f"{uuid.uuid4().hex}-flat.jpg"))


def _given_up(photo_id: int) -> None:
    rows = PhotoMeasuring.objects.filter(photo=photo_id)
    rows.exclude(state=LookState.FOUND).update(state=LookState.NOT_FOUND, refusal=NOT_DONE)


# without the flat cut the photo itself is shown
GIVEN_UP = {"look_at_photo": _given_up, "flatten_photo": None}
