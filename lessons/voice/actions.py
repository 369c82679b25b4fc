"""A note that is spoken: kept, dropped when no answer holds it any more."""

from __future__ import annotations

import uuid
from typing import Any

from django.core.files import File
from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from lessons.voice.models import Voice
from lessons.voice.tasks import prepare_voice
from reeds.reed.arrivals import come_again, keep_arrived
from reeds.take.kept import SoundState
from reeds.take.uploads import EXTENSIONS, check_size, type_of
from studio.files import delete_after_commit
from studio.models import Member

# two minutes of the largest that a browser or a phone records, 48 kHz of 16 bits on one channel
MAX_BYTES = 12 * 1024 * 1024


def add_voice(by: Member, upload: File[bytes], key: uuid.UUID) -> Voice:
    """Keep what was spoken and have the worker prepare it; the same key twice keeps one."""
    there = Voice.objects.filter(studio=by.studio_id, by=by, key=key)
    if kept := there.first():
        return come_again(kept, prepare_voice)
    check_size(
        upload,
        MAX_BYTES,
        empty=_("This recording is empty. Record it again."),
        larger=_("This recording is larger than 12 MB. A note lasts at most two minutes."),
    )
    voice = Voice(studio_id=by.studio_id, by=by, key=key, sound_state=SoundState.WAITING)
    voice.sound_raw.save(f"voice{EXTENSIONS.get(type_of(upload), '.bin')}", upload, save=False)
    return keep_arrived(voice, [voice.sound_raw], there, prepare_voice)


@transaction.atomic
def drop_notes(rows: QuerySet[Any]) -> None:
    """Take the notes out of answers or letters; one that went along with others too stays with those."""
    spoken = rows.filter(voice__isnull=False)
    voices = list(Voice.objects.filter(pk__in=spoken.values("voice")))
    spoken.update(voice=None)
    for voice in voices:
        drop_unheld(voice)


def drop_unheld(voice: Voice) -> None:
    """Delete a note, with its files, unless some answer still holds it."""
    notes = Voice.objects.select_for_update(of=("self",))  # whether an answer is there is no row to lock
    locked = notes.filter(pk=voice.pk, answers=None).first()
    if locked is None:
        return
    delete_after_commit(locked.files)
    locked.delete()
