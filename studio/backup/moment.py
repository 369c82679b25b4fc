"""One moment of the database, of any kind: what its rows name, how many there are, and a copy of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any, Protocol

from django.apps import apps
from django.db.models import FileField

Ask = Callable[[str], list[tuple[Any, ...]]]


class Moment(Protocol):
    """A database as it was when this began, whatever is written since."""

    def ask(self, question: str) -> list[tuple[Any, ...]]: ...
    def tables(self) -> list[str]: ...
    def write(self, file: Path) -> None: ...


class Database(Protocol):
    """What a backup asks of a kind of database."""

    engine: str
    file: str

    def moment(self, begin: Callable[[], None]) -> AbstractContextManager[Moment]: ...


def file_columns() -> Iterator[tuple[str, str]]:
    """Yield table and column of everything that names a file."""
    for model in apps.get_models(include_auto_created=True):
        for field in model._meta.local_fields:
            if isinstance(field, FileField) and model._meta.managed:
                yield model._meta.db_table, str(field.column)


def names(ask: Ask) -> list[str]:
    """Return the names of all files that rows name."""
    found = {
        str(name)
        for table, column in file_columns()
        for (name,) in ask(f'SELECT DISTINCT "{column}" FROM "{table}" WHERE "{column}" <> \'\'')  # noqa: S608  # names of our own models
    }
    return sorted(found)


def counts(ask: Ask, tables: list[str]) -> dict[str, int]:
    """Return how many rows each table has."""
    return {table: int(ask(f'SELECT COUNT(*) FROM "{table}"')[0][0]) for table in tables}  # noqa: S608
