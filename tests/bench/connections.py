"""What a request pays for its connection to PostgreSQL: opened anew, kept by its thread, or from a pool.

The floor is the same question, fifty rows, on a connection that is open: `python -m tests.bench.connections`.
"""

import statistics
import sys
import time

import django
import environ
from django.db.utils import ConnectionHandler

from tests.services.postgresql import is_installed, postgresql

QUESTION = "SELECT n, repeat('x', 100) FROM generate_series(1, 50) n"
ROUNDS, EACH = 15, 40
KEPT = {"CONN_MAX_AGE": 600}
POOL = {"OPTIONS": {"pool": {"min_size": 1, "max_size": 4}}}
WAYS = {
    "opened anew": {},
    "kept by the thread": KEPT,
    "kept and asked whether it lives": KEPT | {"CONN_HEALTH_CHECKS": True},
    "from a pool": POOL,
    "from a pool that asks": POOL | {"CONN_HEALTH_CHECKS": True},
}


def asked(connection):
    with connection.cursor() as cursor:
        cursor.execute(QUESTION)
        return cursor.fetchall()


def request(connection):
    """What Django does with a connection around each request: see django.db.close_old_connections."""
    connection.close_if_unusable_or_obsolete()
    asked(connection)
    connection.close_if_unusable_or_obsolete()


def took(what, connection):
    began = time.perf_counter()
    for _each in range(EACH):
        what(connection)
    return (time.perf_counter() - began) / EACH


def measured(address):
    given = environ.Env.db_url_config(address)
    ways = {"the floor": (asked, KEPT), **{name: (request, more) for name, more in WAYS.items()}}
    of = ConnectionHandler({"default": given, **{name: given | more for name, (_what, more) in ways.items()}})
    times = {name: [] for name in ways}
    for _round in range(ROUNDS):
        for name, (what, _more) in ways.items():
            times[name].append(took(what, of[name]))
    for name in ways:
        of[name].close()
        if of[name].settings_dict["OPTIONS"].get("pool"):
            of[name].close_pool()
    return {name: statistics.median(some) for name, some in times.items()}


if __name__ == "__main__":
    if not is_installed():
        raise SystemExit("PostgreSQL is not installed: nothing is measured.")
    django.setup()
    with postgresql() as address:
        found = measured(address)
    for name, seconds in found.items():
        floors = seconds / found["the floor"]
        sys.stdout.write(f"{name:34} {seconds * 1000:7.2f} ms {floors:7.2f} floors\n")
