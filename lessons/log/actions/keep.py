"""An upload becomes a list whose rows are kept and looked over; nothing of it is a reed yet."""

from __future__ import annotations

import hashlib
import io
import tempfile
import uuid
from dataclasses import dataclass
from pathlib import PurePath

from django.core.files import File
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.log.actions.look import look_over
from lessons.log.around import columns_for, known_to
from lessons.log.choices import Choices
from lessons.log.models import ReedLog
from lessons.log.table.headings import matched
from lessons.log.table.reading import read_table
from lessons.log.table.rows import Table, TableRefused, keep_rows
from reeds.sheet.models.pattern import Pattern
from reeds.wording import say
from studio.errors import NotPossible
from studio.models import Member, Studio

# of one person, each a day at most: own choice, so that uploads do not fill the disk
MAX_WAITING = 20


@dataclass(frozen=True)
class Upload:
    """A file as it came: its name, its bytes, who brought it, and whose reeds are in it."""

    name: str
    data: bytes
    studio: Studio
    by: Member | None = None
    student: Member | None = None


def keep(upload: Upload, key: uuid.UUID | None = None) -> ReedLog:
    """Keep a list's rows and look it over; the same key twice is one list. NotPossible for no table."""
    digest = hashlib.sha256(upload.data).hexdigest()
    there = ReedLog.objects.filter(studio=upload.studio, key=key or uuid.uuid4())
    if kept := there.filter(digest=digest).first():
        return kept
    # with another file under the same key, the page was gone back to: it is a new list
    fresh = uuid.uuid4() if key is None or there.exists() else key
    _room_for_one(upload)
    if not Pattern.objects.filter(studio=upload.studio).in_use().exists():
        raise NotPossible(_("The studio has no measuring sheet yet: reeds cannot be made without one."))
    log = ReedLog(
        studio=upload.studio,
        by=upload.by,
        student=upload.student,
        name=PurePath(upload.name).name[-100:] or "-",
        digest=digest,
        key=fresh,
    )
    try:
        _keep_rows(log, read_table(upload.data))
        return _kept(log)
    except TableRefused as refusal:
        raise NotPossible(say(refusal)) from None
    except IntegrityError:  # the same page sent it a second time meanwhile
        default_storage.delete(str(log.file.name))
        return there.get()


def _room_for_one(upload: Upload) -> None:
    waiting = ReedLog.objects.filter(studio=upload.studio, by=upload.by, written_at=None, undone_at=None)
    if waiting.count() >= MAX_WAITING:
        raise NotPossible(_("Many lists wait to be brought in: bring them in or forget them first."))


def _keep_rows(log: ReedLog, table: Table) -> None:
    """Store a table's rows, and note what there is to say of it."""
    with tempfile.TemporaryFile() as raw:
        text = io.TextIOWrapper(raw, encoding="utf-8", newline="", write_through=True)
        log.row_count = keep_rows(table, text)
        raw.seek(0)
        log.file.save("rows.csv", File(raw), save=False)
        text.detach()
    log.headings = list(table.headings)
    log.said = [list(one) for one in table.said]


def _kept(log: ReedLog) -> ReedLog:
    """Store a list with its columns matched by their headings, looked over."""
    columns = matched(log.headings, columns_for(known_to(log.studio_id)))
    first = Pattern.objects.filter(studio=log.studio_id).in_use().order_by("pk").first()
    log.choices = Choices(columns=columns, sheet=first.pk if first else None).to_json()
    log.found = look_over(log).to_json()
    with transaction.atomic():
        log.save(force_insert=True)
    return log


def choose(log: ReedLog, choices: Choices) -> None:
    """Take a list's columns for something else, settle what is unclear, and look it over anew."""
    log.choices = choices.to_json()
    log.found = look_over(log).to_json()  # long for a long list, so nothing is locked meanwhile
    waiting = ReedLog.objects.filter(pk=log.pk, written_at=None, undone_at=None)
    if not waiting.update(choices=log.choices, found=log.found):
        raise NotPossible(_("This list was brought in meanwhile: nothing of it can be chosen any more."))


def discard(log: ReedLog) -> None:
    """Leave nothing of an upload that was not brought in."""
    if ReedLog.objects.filter(pk=log.pk, written_at=None).delete()[0]:
        default_storage.delete(str(log.file.name))


@transaction.atomic
def drop(log: ReedLog) -> None:
    """Forget an upload that was not brought in: its rows now, the row that held them with the next sweep."""
    locked = ReedLog.objects.select_for_update().get(pk=log.pk)
    if locked.written_at is not None:
        raise NotPossible(_("This list was brought in: take it back instead."))
    if locked.is_waiting:
        locked.undone_at = timezone.now()
        locked.let_go_of_rows()
        locked.save(update_fields=["undone_at", "file"])
