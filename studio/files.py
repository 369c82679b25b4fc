"""Files that go with their rows."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from django.db import transaction
from django.db.models.fields.files import FieldFile


def delete_after_commit(files: Iterable[FieldFile]) -> None:
    """Delete files once what is done now holds; each by itself, so that no trouble with one keeps the others.

    Of a process killed before it came to that, the files have no row any more: the sweep takes them.
    """
    for file in files:
        if file:
            transaction.on_commit(partial(file.storage.delete, str(file.name)), robust=True)
