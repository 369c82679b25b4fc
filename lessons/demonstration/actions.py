"""What a teacher does with demonstrations: added, its words changed, put away and shown again."""

from __future__ import annotations

import datetime as dt
import uuid
from dataclasses import dataclass

from django.core.files import File
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.demonstration.models import Demonstration, DemonstrationQuerySet
from lessons.demonstration.tasks import prepare_demonstration
from reeds.photo.kept import PictureState
from reeds.photo.uploads import check_upload
from reeds.reed.arrivals import come_again, keep_arrived
from reeds.take.kept import SoundState
from reeds.take.uploads import EXTENSIONS, check_size, type_of
from studio.errors import NotPossible
from studio.files import delete_after_commit
from studio.models import Member

MAX_BYTES = 25 * 1024 * 1024
MAX_SHOWN = 300


@dataclass(frozen=True)
class Told:
    """The words of a demonstration and what it is of."""

    title: str
    words: str
    about: str = ""


@dataclass(frozen=True)
class Files:
    """What is shown: a photo, a recording, or both."""

    photo: File[bytes] | None = None
    sound: File[bytes] | None = None


def add(by: Member, told: Told, files: Files, key: uuid.UUID) -> Demonstration:
    """Keep a demonstration and have the worker prepare its files; the same key twice keeps one."""
    there = Demonstration.objects.filter(studio=by.studio_id, key=key)
    if kept := there.first():
        return come_again(kept, prepare_demonstration)
    if Demonstration.objects.filter(studio=by.studio_id).count() >= MAX_SHOWN:
        raise NotPossible(_("There are 300 demonstrations already: the studio keeps no more."))
    if not (files.photo or files.sound):
        raise NotPossible(_("Add a photo or a recording: that is what is shown."))
    row = Demonstration(studio_id=by.studio_id, made_by=by, key=key, **vars(told))
    suffixes = _checked(files)
    if files.photo:
        row.photo_state = PictureState.WAITING
        row.photo_raw.save(f"raw{suffixes['photo']}", files.photo, save=False)
    if files.sound:
        row.sound_state = SoundState.WAITING
        row.sound_raw.save(f"raw{suffixes['sound']}", files.sound, save=False)
    return keep_arrived(row, row.files, there, prepare_demonstration)


def _checked(files: Files) -> dict[str, str]:
    """Return what the stored files' names end in; both are looked at before one is stored."""
    suffixes = {}
    if files.photo:
        suffixes["photo"] = check_upload(files.photo)
    if files.sound:
        check_size(
            files.sound,
            MAX_BYTES,
            empty=_("This recording is empty. Record it again."),
            larger=_("This recording is larger than 25 MB. At most two minutes can be shown."),
        )
        suffixes["sound"] = EXTENSIONS.get(type_of(files.sound), ".bin")
    return suffixes


def change(row: Demonstration, told: Told) -> None:
    """Put other words in their place; what is shown stays."""
    Demonstration.objects.filter(pk=row.pk).update(**vars(told))


def put_away(row: Demonstration) -> None:
    """Offer it no longer; answers it went along with keep it."""
    Demonstration.objects.filter(pk=row.pk, put_away_at=None).update(put_away_at=timezone.now())


@transaction.atomic
def erase_shown(rows: DemonstrationQuerySet, at: dt.datetime) -> None:
    """Erase photos and recordings of these; their words stay, where answers lead to them."""
    there = list(rows.filter(erased_at__isnull=True).select_for_update())
    delete_after_commit(file for row in there for file in row.files)
    columns = ("photo_raw", "photo_screen", "photo_thumbnail", "sound_raw", "sound", "mp3")
    no_files = dict.fromkeys(columns, "")
    rows.filter(pk__in=[row.pk for row in there]).update(
        erased_at=at, photo_state="", photo_refusal="", sound_state="", sound_refusal="", **no_files
    )


def show_again(row: Demonstration) -> None:
    """Offer it again."""
    Demonstration.objects.filter(pk=row.pk).update(put_away_at=None)
