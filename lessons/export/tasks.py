"""The worker makes an export: load by id, write the file, say that it is there. Twice is the same as once."""

from __future__ import annotations

import tempfile
from functools import cache
from typing import TYPE_CHECKING

from django.conf import settings
from django.core.files import File
from django.utils import timezone
from django.utils.translation import gettext_noop as _
from django_tasks import task

from lessons.export.models import Export, ExportQuerySet, ExportState
from reeds.numbers.late import Late
from studio.errors import FilesUnreachable, NotPossible

if TYPE_CHECKING:
    from lessons.export import bundle
    from lessons.export.gathering import (
        asked,
        journal,
        lessons,
        letters,
        pictures,
        reeds,
        rounds,
        scope,
        sheets,
    )
else:  # what the worker alone gathers: whoever asks for an export starts without it
    bundle = Late("lessons.export.bundle")
    NOUNS = ("asked", "journal", "lessons", "letters", "pictures", "reeds", "rounds", "scope", "sheets")
    asked, journal, lessons, letters, pictures, reeds, rounds, scope, sheets = (
        Late(f"lessons.export.gathering.{noun}") for noun in NOUNS
    )

NO_ROOM = _("The server could not write the file: perhaps its disk is full. Tell whoever looks after it.")
BROKEN = _("Something went wrong while it was made. Try again; if it fails again, tell your teacher.")


@cache
def contents() -> bundle.Contents:
    """Return all that an export holds, of every noun."""
    kinds = (reeds, rounds, lessons, letters, asked, pictures, sheets)
    tables = [table for kind in kinds for table in kind.TABLES]
    return bundle.Contents((*tables, journal.JOURNAL), pictures.files, rounds.marks)


@task(queue_name="papers")
def make_export(export_id: int) -> None:
    """Make one export that is asked for, or say in a sentence why it could not be made."""
    rows = Export.objects.select_related("member__studio", "member__person", "student", "term__studio")
    row = rows.filter(pk=export_id, state=ExportState.MAKING).first()
    if row is None:
        return  # made before, or another was asked for meanwhile
    try:
        _make(row)
    except NotPossible as refusal:
        _fail(row, str(refusal))
    except FilesUnreachable:
        raise  # the worker tries it until they can be had
    except OSError:
        _fail(row, NO_ROOM)
    except Exception:
        _fail(row, BROKEN)
        raise  # the log is to say what it was


def _make(row: Export) -> None:
    asks = scope.Scope(row.member, row.student, row.term, with_pictures=row.with_pictures)
    # beside the data and not among temporary files, which may lie in memory
    with tempfile.TemporaryFile(dir=settings.DATA_DIR) as whole:
        bundle.write_bundle(contents(), asks, whole, timezone.now())
        size = whole.tell()
        whole.seek(0)
        row.file.save("export.zip", File(whole), save=False)
    ready = {"state": ExportState.READY, "file": row.file.name, "size_bytes": size}
    if not _still_wanted(row).update(**ready):
        row.file.storage.delete(str(row.file.name))  # another run was quicker, or it was dropped


def _fail(row: Export, sentence: str) -> None:
    _still_wanted(row).update(state=ExportState.FAILED, refusal=sentence)


def _still_wanted(row: Export) -> ExportQuerySet:
    return Export.objects.filter(pk=row.pk, state=ExportState.MAKING)


def _given_up(export_id: int) -> None:
    Export.objects.filter(pk=export_id, state=ExportState.MAKING).update(
        state=ExportState.FAILED, refusal=BROKEN
    )


GIVEN_UP = {"make_export": _given_up}
