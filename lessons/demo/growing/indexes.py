"""PostgreSQL's indexes and keys: taken from tables while they are filled, and made anew at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from django.db import connection
from django.db.backends.utils import CursorWrapper

# what stays: primary keys, to which other tables lead; what is checked row by row
CONSTRAINTS = """
SELECT format('ALTER TABLE %%s DROP CONSTRAINT %%I', conrelid::regclass, conname),
       format('ALTER TABLE %%s ADD CONSTRAINT %%I %%s',
              conrelid::regclass, conname, pg_get_constraintdef(oid))
FROM pg_constraint WHERE conrelid = ANY(%s::regclass[]) AND contype = %s ORDER BY conname
"""
INDEXES = """
SELECT format('DROP INDEX %%s', indexrelid::regclass), pg_get_indexdef(indexrelid)
FROM pg_index WHERE indrelid = ANY(%s::regclass[])
AND NOT EXISTS (SELECT FROM pg_constraint WHERE conindid = indexrelid) ORDER BY indexrelid
"""
FOREIGN, UNIQUE = "f", "u"


@contextmanager
def without_indexes(tables: Sequence[str]) -> Iterator[None]:
    """Drop what a row would be looked up in, each one ten times; afterwards make it at once.

    All within the transaction around: where it fails, everything is as it was.
    """
    connection.check_constraints()  # what waits for the end of the transaction would hold the tables
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL maintenance_work_mem = '256MB'")
        foreign = _dropped(cursor, CONSTRAINTS, [list(tables), FOREIGN])
        again = _dropped(cursor, CONSTRAINTS, [list(tables), UNIQUE])
        again += _dropped(cursor, INDEXES, [list(tables)])
        yield
        # each foreign key is one join of two tables: planned by how large they are now
        for make in (*again, "ANALYZE", *foreign):
            cursor.execute(make)


def _dropped(cursor: CursorWrapper, sql: str, given: Sequence[Any]) -> list[str]:
    """Drop what the query finds; return what makes it again."""
    cursor.execute(sql, given)
    found: list[tuple[str, str]] = cursor.fetchall()
    for drop, _make in found:
        cursor.execute(drop)
    return [make for _drop, make in found]
