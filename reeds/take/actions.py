"""What a player does with recordings: kept, taken back, compared with those of a good reed."""

from __future__ import annotations

import uuid
from functools import partial

from django.core.files import File
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from reeds.reed.arrivals import keep_arrived
from reeds.reed.models.reed import Reed
from reeds.sheet.playing_items import PlayingItem
from reeds.take.models import Take
from reeds.take.processing import Processing
from reeds.take.tasks import listen
from studio.errors import NotPossible
from studio.models import Member

MAX_BYTES = 25 * 1024 * 1024
EXTENSIONS = {
    "audio/mp4": ".m4a",
    "audio/x-m4a": ".m4a",
    "audio/aac": ".aac",
    "video/mp4": ".mp4",
    "audio/webm": ".webm",
    "video/webm": ".webm",
    "audio/ogg": ".ogg",
    "application/ogg": ".ogg",
    "audio/mpeg": ".mp3",
    "audio/wav": ".wav",
    "audio/x-wav": ".wav",
    "audio/wave": ".wav",
    "audio/flac": ".flac",
    "audio/x-flac": ".flac",
}


def add_take(
    reed: Reed,
    by: Member,
    upload: File[bytes],
    key: uuid.UUID,
    item: PlayingItem,
    processing: Processing,
) -> Take:
    """Keep a recording and have the worker listen to it; the same key twice keeps one."""
    if not by.may_send_pictures:
        raise NotPossible(_("Recordings can be sent once your teacher has noted your guardian's consent."))
    there = Take.objects.filter(reed=reed, key=key)
    if kept := there.first():
        return kept
    _check(upload)
    content_type = str(getattr(upload, "content_type", "") or "").split(";")[0].lower()
    take = Take(studio_id=reed.studio_id, reed=reed, by=by, key=key, item=item.key)
    take.granted = processing.to_json()
    take.notes, take.tempo, take.a4_hz = list(item.notes), item.tempo, reed.studio.a4_hz
    take.size_bytes, take.content_type = upload.size, content_type if content_type in EXTENSIONS else ""
    take.stage = reed.stage
    take.raw.save(f"take{EXTENSIONS.get(content_type, '.bin')}", upload, save=False)
    return keep_arrived(take, take.raw, there, listen)


def _check(upload: File[bytes]) -> None:
    if not upload.size:
        raise NotPossible(_("This recording is empty. Record it again."))
    if upload.size > MAX_BYTES:
        raise NotPossible(_("This recording is larger than 25 MB. At most three minutes can be sent."))


@transaction.atomic
def withdraw(take: Take) -> None:
    """Undo a recording: its row stays so that its key is not used again; files and numbers go."""
    locked = Take.objects.select_for_update().get(pk=take.pk)
    files = [(file.storage, str(file.name)) for file in locked.files]
    Take.objects.filter(pk=take.pk).update(
        taken_back_at=timezone.now(), raw="", file="", result={}, tracks={}
    )
    locked.measurements.all().delete()
    for storage, name in files:
        transaction.on_commit(partial(storage.delete, name))
