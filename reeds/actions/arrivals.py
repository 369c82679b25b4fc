"""Files that arrive from a phone: of two that come at once with one key, one row stays and one file."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol, TypeVar

from django.db import IntegrityError, transaction
from django.db.models.fields.files import FieldFile

from reeds.models import Photo, Take

Row = TypeVar("Row", Photo, Take)


class Queued(Protocol):
    """A task of the worker that takes a row's id."""

    @property
    def enqueue(self) -> Callable[..., object]: ...


def keep_arrived(row: Row, task: Queued) -> Row:
    """Insert a row whose upload is stored already and queue its task; the row that was there, if one was.

    The upload of a row that did not come to stay is deleted, whatever stopped it.
    """
    raw: FieldFile = row.raw
    try:
        with transaction.atomic():
            row.save(force_insert=True)
            transaction.on_commit(lambda: task.enqueue(row.pk))
    except IntegrityError:  # the same file came a second time meanwhile
        raw.storage.delete(str(raw.name))
        return type(row)._default_manager.get(reed=row.reed, key=row.key)
    except BaseException:
        raw.storage.delete(str(raw.name))
        raise
    return row
