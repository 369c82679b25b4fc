"""Files that arrive from a phone: of two that come at once with one key, one row stays and one file."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol, TypeVar

from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.db.models.fields.files import FieldFile

from reeds.reed.models.reed import Reed
from studio.access import StudioRow
from studio.errors import NotPossible
from studio.models import Member

Row = TypeVar("Row", bound=StudioRow)


class Queued(Protocol):
    """A task of the worker that takes a row's id."""

    @property
    def enqueue(self) -> Callable[..., object]: ...


def check_consent(reed: Reed, by: Member) -> None:
    """Refuse photos and recordings of whoever is under age without a consent, whoever sends them."""
    for one in (by,) if reed.owner_id == by.pk else (by, reed.owner):
        if one.why_no_pictures:
            raise NotPossible(one.why_no_pictures)


def keep_arrived(row: Row, raws: Sequence[FieldFile], twins: QuerySet[Row], task: Queued) -> Row:
    """Insert a row whose uploads are stored already and queue its task; its twin, if it came before.

    `twins` finds the row of the same key. The uploads of a row that did not come to stay are deleted,
    whatever stopped it.
    """
    try:
        with transaction.atomic():
            row.save(force_insert=True)
            task.enqueue(row.pk)
    except IntegrityError:  # the same file came a second time meanwhile
        _delete(raws)
        return twins.get()
    except BaseException:
        _delete(raws)
        raise
    return row


def come_again(row: Row, task: Queued) -> Row:
    """Return a row whose sender did not hear of it; its task is queued anew: twice is once."""
    task.enqueue(row.pk)
    return row


def _delete(raws: Sequence[FieldFile]) -> None:
    for raw in raws:
        raw.storage.delete(str(raw.name))
