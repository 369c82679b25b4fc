"""Writes grown studios: by COPY into PostgreSQL, by executemany elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext

from django.db import connection

from lessons.demo.growing.columns import Column, Grown
from lessons.demo.growing.indexes import without_indexes

NOTHING = r"\N"
_ESCAPED = str.maketrans({"\\": r"\\", "\t": r"\t", "\n": r"\n", "\r": r"\r"})

Writer = Callable[[str, Sequence[Column], Sequence[Grown]], None]


def writer() -> Writer:
    """Return what writes one table's rows of many studios into this kind of database."""
    return _copied if connection.vendor == "postgresql" else _many


def prepared(tables: Sequence[str]) -> AbstractContextManager[None]:
    """Return what these tables are filled within; PostgreSQL makes its indexes once, at the end."""
    return without_indexes(tables) if connection.vendor == "postgresql" else nullcontext()


def _names(columns: Sequence[Column]) -> str:
    return ", ".join(connection.ops.quote_name(column.name) for column in columns)


def _many(table: str, columns: Sequence[Column], studios: Sequence[Grown]) -> None:
    places = ", ".join(["%s"] * len(columns))
    sql = f"INSERT INTO {connection.ops.quote_name(table)} ({_names(columns)}) VALUES ({places})"  # noqa: S608  # names of our own tables
    with connection.cursor() as cursor:
        for grown in studios:
            cursor.executemany(sql, list(zip(*(column.values(grown) for column in columns), strict=True)))


def _copied(table: str, columns: Sequence[Column], studios: Sequence[Grown]) -> None:
    sql = f"COPY {connection.ops.quote_name(table)} ({_names(columns)}) FROM STDIN"
    with connection.cursor() as cursor, cursor.copy(sql) as copy:
        for block in _blocks(columns, studios):
            copy.write(block)


def _blocks(columns: Sequence[Column], studios: Sequence[Grown]) -> Iterator[str]:
    """Yield each studio's rows as text; what is the same in all of them is joined once."""
    same = [[_told(value) for value in column.same] for column in columns if column.same is not None]
    begun = ["\t".join(row) for row in zip(*same, strict=True)]
    moving = [column for column in columns if column.same is None]
    for grown in studios:
        told = [[NOTHING if value is None else value for value in one.values(grown)] for one in moving]
        yield "".join(f"{row}\n" for row in map("\t".join, zip(*filter(None, (begun, *told)), strict=True)))


def _told(value: str | None) -> str:
    return NOTHING if value is None else value.translate(_ESCAPED)
