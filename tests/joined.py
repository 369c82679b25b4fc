"""By what a statement joins the tables of studios' rows: read from its SQL."""

from __future__ import annotations

import re
from collections import defaultdict
from functools import cache

from django.apps import apps

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
    called = defaultdict(set)
    for table, name in NAMED.findall(sql):
        called[name or table].add(table)
    found = []
    for join in JOINED.finditer(sql):
        table, name, on = join[1], join[2] or join[1], _in_brackets(sql[join.end() :])
        by_studio = re.search(rf'\b{name}"?\."studio_id"', on)
        leads_there = any(called[other] <= between() for other in OWNER.findall(on) if other != name)
        if table in of_studios() and not by_studio and not leads_there:
            found.append(f"{table}: {on}")
    return found


def _in_brackets(text: str) -> str:
    """Return what stands there up to the bracket that closes the one before it."""
    depth = 1
    for place, letter in enumerate(text):
        depth += {"(": 1, ")": -1}.get(letter, 0)
        if not depth:
            return text[:place]
    return text
