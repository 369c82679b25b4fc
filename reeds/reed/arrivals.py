"""Files that arrive from a phone: of two that come at once with one key, one row stays and one file."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol, TypeVar

from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.db.models.fields.files import FieldFile

from studio.access import StudioRow

Row = TypeVar("Row", bound=StudioRow)


class Queued(Protocol):
    """A task of the worker that takes a row's id."""

    @property
    def enqueue(self) -> Callable[..., object]: ...


def keep_arrived(row: Row, raw: FieldFile, twins: QuerySet[Row], task: Queued) -> Row:
    """Insert a row whose upload `raw` is stored already and queue its task; its twin, if it came before.

    `twins` finds the row of the same reed and key. The upload of a row that did not come to stay is deleted,
    whatever stopped it.
    """
    try:
        with transaction.atomic():
            row.save(force_insert=True)
            transaction.on_commit(lambda: task.enqueue(row.pk))
    except IntegrityError:  # the same file came a second time meanwhile
        raw.storage.delete(str(raw.name))
        return twins.get()
    except BaseException:
        raw.storage.delete(str(raw.name))
        raise
    return row
