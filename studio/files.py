"""Files that go with their rows."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from django.db import transaction
from django.db.models import Model
from django.db.models.fields.files import FieldFile


def drop_upload(row: Model, column: str) -> None:
    """Delete an upload as it came: first the file, then its name, so that no file is ever forgotten."""
    upload: FieldFile = getattr(row, column)
    upload.storage.delete(str(upload.name))
    type(row)._default_manager.filter(pk=row.pk).update(**{column: ""})


def delete_after_commit(files: Iterable[FieldFile]) -> None:
    """Delete files once what is done now holds; each by itself, so that no trouble with one keeps the others.

    Of a process killed before it came to that, the files have no row any more: the sweep takes them.
    """
    for file in files:
        if file:
            transaction.on_commit(partial(file.storage.delete, str(file.name)), robust=True)
