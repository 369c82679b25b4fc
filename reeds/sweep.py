"""Takes away files that no row holds: uploads whose sending broke off, copies of a run that was killed.

What was forgotten the other way round, an upload whose row waits and has no task, is queued anew; and so is
a sound that was kept before it was made playable for all.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from itertools import chain
from pathlib import PurePosixPath

from django.core.files.storage import default_storage
from django.db import models
from django.utils import timezone

from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo, PhotoState
from reeds.photo.tasks.prepare import prepare_photo
from reeds.take.heard_by_all import HeardByAll
from reeds.take.models import Take, TakeState
from reeds.take.tasks import listen, make_mp3
from studio.direct import ARRIVING

# a file is written before its row: what is younger may still get one
AGE = dt.timedelta(days=1)
Ageing = Callable[[dt.datetime], object]
AGEING: list[Ageing] = []
Held = tuple[type[models.Model], tuple[str, ...]]
HELD: dict[str, tuple[Held, ...]] = {
    "photos": ((Photo, ("raw", "upright", "large", "screen", "thumbnail")), (PhotoMeasuring, ("flat",))),
    "takes": ((Take, ("raw", "file", "mp3")),),
}


def register_held(top: str, *held: Held) -> None:
    """Name the rows that hold the files of a further folder: what is not named there is never looked at."""
    HELD[top] = held


def register_ageing(ageing: Ageing) -> Ageing:
    """Name what takes away rows that are not kept beyond a moment, so that their files go; twice is once."""
    if ageing not in AGEING:
        AGEING.append(ageing)
    return ageing


def sweep(now: dt.datetime | None = None) -> int:
    """Delete every file older than a day that no row names; return how many."""
    before = (now or timezone.now()) - AGE
    for ageing in AGEING:
        ageing(before)
    orphans = [name for name in _orphans() if _is_older(name, before)]
    for name in orphans:
        default_storage.delete(name)
    return len(orphans)


@register_ageing
def queue_forgotten(before: dt.datetime) -> None:
    """Queue anew what still waits long after it came: a process was killed between its row and its task."""
    photos = Photo.objects.kept().filter(state=PhotoState.WAITING, sent_at__lt=before)
    takes = Take.objects.kept().filter(state=TakeState.WAITING, at__lt=before)
    for task, rows in ((prepare_photo, photos), (listen, takes)):
        for pk in rows.values_list("pk", flat=True):
            task.enqueue(pk)  # twice is once


@register_ageing
def queue_old_sounds(_before: dt.datetime) -> None:
    """Have an MP3 made of each sound that not every browser plays and that was kept without one."""
    for model, _fields in chain.from_iterable(HELD.values()):
        if issubclass(model, HeardByAll):
            for pk in model.without_mp3().values_list("pk", flat=True):
                make_mp3.enqueue(model._meta.label, pk)  # twice is once


def _orphans() -> Iterator[str]:
    """Yield files without a row, studio by studio, so that no more than one studio's names are in memory."""
    for top in (*HELD, ARRIVING):  # what was put there and never told of is no row's
        for folder in _listed(top)[0]:
            path = PurePosixPath(top, folder)
            names = {str(path / name) for name in _listed(str(path))[1]}
            yield from sorted(names - _held(top, folder))


def _listed(path: str) -> tuple[list[str], list[str]]:
    try:
        return default_storage.listdir(path)
    except FileNotFoundError:  # nothing was ever sent
        return [], []


def _held(top: str, folder: str) -> set[str]:
    """Return the names that rows hold in the folder of one studio."""
    here = f"{top}/{folder}/"
    return {
        name
        for model, fields in HELD.get(top, ())
        for field in fields
        for name in model._default_manager.filter(**{f"{field}__startswith": here}).values_list(
            field, flat=True
        )
    }


def _is_older(name: str, before: dt.datetime) -> bool:
    try:
        return default_storage.get_modified_time(name) < before
    except FileNotFoundError:  # taken away meanwhile
        return False
