"""How a statement comes to studios' rows: by what it joins them, and what it looks through whole."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from typing import Any

from django.apps import apps
from django.db import connection, transaction
from django.db.backends.utils import CursorWrapper

from studio.access import StudioRow

NAMED = re.compile(r'(?:FROM|JOIN) "(\w+)"(?: (U\d+|V\d+|W\d+|T\d+))?')
JOINED = re.compile(r'JOIN "(\w+)"(?: (\w+))? ON \(')
OWNER = re.compile(r'(\w+)"?\."')


@cache
def of_studios() -> frozenset[str]:
    """Return the tables whose rows carry their studio."""
    return frozenset(m._meta.db_table for m in apps.get_models() if issubclass(m, StudioRow))


@cache
def between() -> frozenset[str]:
    """Return the tables of two keys alone: they have no studio, what they lead to is joined by its key."""
    return frozenset(field.m2m_db_table() for m in apps.get_models() for field in m._meta.local_many_to_many)


def joins(sql: str) -> int:
    return len(JOINED.findall(sql))


def without_studio(sql: str) -> list[str]:
    """Return the tables of studios' rows that a statement joins by their key alone."""
    found = []
    for join in JOINED.finditer(sql):
        called = {name or one: one for one, name in NAMED.findall(sql[: join.start()])}  # each as named last
        table, name, on = join[1], join[2] or join[1], _in_brackets(sql[join.end() :])
        by_studio = re.search(rf'\b{name}"?\."studio_id"', on)
        leads_there = any(called.get(other) in between() for other in OWNER.findall(on) if other != name)
        if table in of_studios() and not by_studio and not leads_there:
            found.append(f"{table}: {on}")
    return found


def looked_through(sql: str) -> list[str]:
    """Return the tables of studios' rows that are read from end to end to answer a SELECT.

    PostgreSQL's plans follow what it counted of its rows, of which tests have few; so it is asked what it
    would do if it had to find each row by an index. What it does do among thousands of studios is told by
    `tests.bench.beside`.
    """
    if not sql.startswith("SELECT"):
        return []
    scans = _scans_in_a_file if connection.vendor == "sqlite" else _scans_on_a_server
    with connection.cursor() as cursor:
        return sorted(of_studios() & set(scans(cursor, sql)))


def plan_of(cursor: CursorWrapper, sql: str, *more: str) -> Iterator[dict[str, Any]]:
    """Yield the steps by which PostgreSQL would answer, or with "ANALYZE" does."""
    cursor.execute(f"EXPLAIN ({', '.join(('FORMAT JSON', *more))}) {sql}")
    steps = [cursor.fetchone()[0][0]["Plan"]]
    while steps:
        yield (step := steps.pop())
        steps += step.get("Plans", [])


# a table that was counted while it was empty is taken for empty: then it is all one how it is read
AS_IF_NEVER_COUNTED = (
    "UPDATE pg_class SET relpages = 0, reltuples = -1 WHERE relkind IN ('r', 'p') AND reltuples >= 0"
    " AND relnamespace = 'public'::regnamespace",
    "DELETE FROM pg_statistic WHERE starelid >= 16384",  # of ours, not of the server's own
)


def _scans_on_a_server(cursor: CursorWrapper, sql: str) -> Iterator[str]:
    with transaction.atomic():
        for forgotten in AS_IF_NEVER_COUNTED:
            cursor.execute(forgotten)
        for way in ("seqscan", "mergejoin", "hashjoin"):
            cursor.execute(f"SET LOCAL enable_{way} = off")
        for step in plan_of(cursor, sql):
            if "Relation Name" in step and not step.keys() & {"Index Cond", "Recheck Cond", "TID Cond"}:
                yield step["Relation Name"]
        transaction.set_rollback(True)


def _scans_in_a_file(cursor: CursorWrapper, sql: str) -> Iterator[str]:
    called = _tables(sql)
    cursor.execute(f"EXPLAIN QUERY PLAN {sql}")
    for *_place, step in cursor.fetchall():
        if scanned := re.match(r"SCAN (\w+)", step):
            yield from called[scanned[1]]


def _tables(sql: str) -> dict[str, set[str]]:
    """Return which tables each name of a statement stands for; those of two subqueries may be the same."""
    called = defaultdict(set)
    for table, name in NAMED.findall(sql):
        called[name or table].add(table)
    return called


def _in_brackets(text: str) -> str:
    """Return what stands there up to the bracket that closes the one before it."""
    depth = 1
    for place, letter in enumerate(text):
        depth += {"(": 1, ")": -1}.get(letter, 0)
        if not depth:
            return text[:place]
    return text
