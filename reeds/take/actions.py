"""What a player does with recordings: kept, taken back, compared with those of a good reed."""

from __future__ import annotations

import datetime as dt
import uuid

from django.core.files import File
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from reeds.reed.arrivals import check_consent, come_again, keep_arrived
from reeds.reed.models.reed import Reed
from reeds.sheet.playing_items import PlayingItem
from reeds.take.models import Take, TakeQuerySet
from reeds.take.processing import Processing
from reeds.take.tasks import listen
from reeds.take.uploads import EXTENSIONS, check_size, type_of
from studio.files import delete_after_commit
from studio.models import Member

MAX_BYTES = 25 * 1024 * 1024


def add_take(
    reed: Reed,
    by: Member,
    upload: File[bytes],
    key: uuid.UUID,
    item: PlayingItem,
    processing: Processing,
) -> Take:
    """Keep a recording and have the worker listen to it; the same key twice keeps one."""
    check_consent(reed, by)
    there = Take.objects.filter(studio=reed.studio_id, reed=reed, key=key)
    if kept := there.first():
        return come_again(kept, listen)
    _check(upload)
    content_type = type_of(upload)
    take = Take(studio_id=reed.studio_id, reed=reed, by=by, key=key, item=item.key)
    take.granted = processing.to_json()
    take.notes, take.tempo, take.a4_hz = list(item.notes), item.tempo, reed.studio.a4_hz
    take.size_bytes, take.content_type = upload.size, content_type
    take.stage = reed.stage
    take.raw.save(f"take{EXTENSIONS.get(content_type, '.bin')}", upload, save=False)
    return keep_arrived(take, [take.raw], there, listen)


def _check(upload: File[bytes]) -> None:
    check_size(
        upload,
        MAX_BYTES,
        empty=_("This recording is empty. Record it again."),
        larger=_("This recording is larger than 25 MB. At most three minutes can be sent."),
    )


@transaction.atomic
def withdraw(take: Take) -> None:
    """Undo a recording: its row stays so that its key is not used again; files and numbers go."""
    locked = Take.objects.select_for_update().get(pk=take.pk)
    delete_after_commit(locked.files)
    Take.objects.filter(pk=take.pk).update(
        taken_back_at=timezone.now(), raw="", file="", mp3="", result={}, tracks={}
    )
    locked.measurements.all().delete()


@transaction.atomic
def erase_takes(rows: TakeQuerySet, at: dt.datetime) -> None:
    """Erase these recordings for good: sound, upload, the lines drawn of them. Rows and numbers stay.

    A worker that has one in hand finds it gone and deletes what it made.
    """
    takes = list(rows.kept().select_for_update())
    delete_after_commit(file for take in takes for file in take.files)
    Take.objects.filter(pk__in=[take.pk for take in takes]).update(
        erased_at=at, taken_back_at=at, raw="", file="", mp3="", result={}, tracks={}
    )
