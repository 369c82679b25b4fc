"""Many rows into one table by one prepared statement.

`bulk_create` writes a new statement for every 55 rows of so many columns on SQLite: 300,000 numbers took two
minutes, while nobody else could write. Only for rows of this package: their keys are not needed or read back.
"""

from __future__ import annotations

import datetime as dt
import functools
import uuid
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

from django.db import connections, models, router

Value = object
_PREPARED = frozenset({dt.datetime, uuid.UUID})


def pour(model: type[models.Model], names: Sequence[str], rows: Iterable[Sequence[Value]]) -> None:
    """Insert rows into the table of a model.

    Parameters
    ----------
    model : type of Model
        What they are rows of; a column that is not named gets its default, the same in every row.
    names : sequence of str
        Names of columns as attributes, such as ``reed_id``.
    rows : iterable of sequence
        Their values, in that order: plain values, moments with their zone, UUIDs.
    """
    fields = {field.attname: field for field in model._meta.concrete_fields if not field.primary_key}
    rest = [(name, field.get_default()) for name, field in fields.items() if name not in names]
    connection = connections[router.db_for_write(model)]
    written = [*names, *(name for name, _value in rest)]
    quoted = [connection.ops.quote_name(str(fields[name].column)) for name in written]
    places = ", ".join(["%s"] * len(quoted))
    table = connection.ops.quote_name(model._meta.db_table)
    sql = f"INSERT INTO {table} ({', '.join(quoted)}) VALUES ({places})"  # noqa: S608  # names of our own tables
    with connection.cursor() as cursor:
        prepared = _prepared(rows, [value for _name, value in rest], _preparing(connection))
        cursor.executemany(sql, prepared)  # type: ignore[arg-type]  # any iterable does, so that none need be a list


def _prepared(
    rows: Iterable[Sequence[Value]], rest: Sequence[Value], prepare: Callable[[Any], Value]
) -> Iterator[list[Value]]:
    tail = [prepare(value) if type(value) in _PREPARED else value for value in rest]
    for row in rows:
        yield [prepare(one) if type(one) in _PREPARED else one for one in row] + tail


def _preparing(connection: Any) -> Callable[[Any], Value]:  # noqa: ANN401  # Django's own has no public type
    """How this database takes a moment and a UUID; the same ones come again and again."""
    moment, key = models.DateTimeField(), models.UUIDField()

    @functools.lru_cache(maxsize=4096)
    def prepare(value: dt.datetime | uuid.UUID) -> Value:
        field: models.Field[Any, Any] = moment if isinstance(value, dt.datetime) else key
        return field.get_db_prep_save(value, connection)

    return prepare
