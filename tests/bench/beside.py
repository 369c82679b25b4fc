"""Prints how much longer pages take with many studios beside theirs.

`python -m tests.bench.beside [STUDIOS]`: the pages of `tests.bench.pages`, of the demo's studio and of one
with 1,000 reeds, alone in a database of its own and again with 30 grown studios beside them; where
DATABASE_URL names an empty PostgreSQL, there: `python -m tests.services python -m tests.bench.beside 2000`.
Each time against the bare view of that module, by the clocks of our processor and of the server's process
for us; medians of 9. Bound: 1.5 times.
"""

import os
import statistics
import sys
import time
from pathlib import Path

from tests.bench.pages import FLOOR, Site, _the_demo, bare_urls, of_the_demo, of_the_large_term
from tests.bench.term import in_a_database_of_its_own

STUDIOS, BOUND, ROUNDS = 30, 1.5, 9


def clock():
    """Return what counts the seconds that this process, and the database's for it, have worked."""
    from django.db import connection

    if connection.vendor != "postgresql":
        return time.process_time
    with connection.cursor() as cursor:
        cursor.execute("SET max_parallel_workers_per_gather = 0")
        cursor.execute("SELECT pg_backend_pid()")
        counted = Path(f"/proc/{cursor.fetchone()[0]}/schedstat")
    return lambda: time.process_time() + int(counted.read_text().split()[0]) / 1e9


def floors(who, path, now):
    """Ask for a page and the floor in turn; return how many floors it takes."""
    client = Site(who).client
    taken = {path: [], FLOOR: []}
    for each in range(ROUNDS + 1):
        for one, times in taken.items():
            began = now()
            answer = client.get(one)
            times += [now() - began] if each else []
            assert answer.status_code == 200, (one, answer.status_code)
    page, floor = map(statistics.median, taken.values())
    return page / floor


def measured(studios):
    from django.db import connection
    from django.test import override_settings

    from lessons.demo.growing.grow import grow
    from lessons.demo.load import load
    from studio.models import Studio
    from tests.big_term import big_term

    all_of_them = [*of_the_demo(*_the_demo()), *of_the_large_term(big_term())]
    pages = [page for page in all_of_them if len(page) == 4]  # those that are asked for, nothing sent
    Studio.objects.update(is_demo=True)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")  # as the worker has it done, or PostgreSQL within a minute
    missed = 0
    with override_settings(ROOT_URLCONF=bare_urls()):
        now = clock()
        alone = [floors(who, path, now) for who, _name, _bound, path in pages]
        began = time.perf_counter()
        sys.stdout.write(f"{grow(studios, load, lambda _words: None)}; {time.perf_counter() - began:.0f} s\n")
        for (who, name, _bound, path), before in zip(pages, alone, strict=True):
            after = floors(who, path, now)
            missed += after / before > BOUND
            told = "met" if after / before <= BOUND else "NOT MET"
            sys.stdout.write(f"{name}: {before:.1f} floors alone, {after:.1f} beside {studios}: ")
            sys.stdout.write(f"{after / before:.2f} times (bound {BOUND}): {told}\n")
            sys.stdout.flush()
    return missed


def main(words):
    studios = int(words[0]) if words else STUDIOS
    address = os.environ.get("DATABASE_URL")
    return int(in_a_database_of_its_own(lambda: measured(studios), address) > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
