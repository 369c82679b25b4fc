"""Prints how many tasks a second the queue in the database gives, and how soon one is done: on PostgreSQL.

`python -m tests.bench.queue [TASKS]`: a PostgreSQL of its own that writes to the disk before it says so, 1, 2
and 4 real workers (`manage.py work --queue mail`, one hand each), and so many tasks that do nothing, 1,000.
They are given in one transaction while the workers wait; counted is from its commit to the last one's end, in
the database's rows. Beside it: given one by one, each in a transaction of its own, as a request does; and one
alone, from its commit until it is done, the median of 20. Told without a bound; JSON at the end.
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time

from tests.bench.term import in_a_database_of_its_own
from tests.load.__main__ import worked_s
from tests.services.postgresql import is_installed, postgresql

TASKS, ALONE, PATIENCE_S = 1000, 20, 300
WORKERS = (1, 2, 4)
DURABLE = ("max_connections=60",)


def give(number):
    from tests.services.nothing import nothing

    nothing.enqueue(number)


def until(done, every_s=0.002):
    ends = time.monotonic() + PATIENCE_S
    while not done():
        assert time.monotonic() < ends
        time.sleep(every_s)


def left():
    from django_tasks_db.models import DBTaskResult

    return DBTaskResult.objects.exclude(status="SUCCESSFUL").count()


def workers(count, folder):
    """Start so many, and return them once each is known and waits."""
    from studio.lease import WorkerLease, alive

    WorkerLease.objects.all().delete()
    surroundings = os.environ | {"DATA_DIR": folder, "LOG_LEVEL": "ERROR"}
    command = [sys.executable, "manage.py", "work", "--queue", "mail"]
    started = [subprocess.Popen(command, env=surroundings) for _each in range(count)]  # noqa: S603
    until(lambda: len(alive()) == count)
    give(0)
    until(lambda: not left())
    time.sleep(3)  # for whatever else a worker does when it starts
    return started


def in_one_go(tasks):
    """Give them all and return how many a second were done, and how many different workers did them."""
    from django.db import transaction
    from django_tasks_db.models import DBTaskResult

    DBTaskResult.objects.all().delete()
    with transaction.atomic():
        for number in range(tasks):
            give(number)
    began = time.monotonic()
    until(lambda: not left(), every_s=0.1)  # to look costs what is measured
    seconds = time.monotonic() - began
    rows = DBTaskResult.objects.all()
    assert rows.count() == tasks
    assert all(len(row.worker_ids) == 1 for row in rows)  # each by one, once
    return tasks / seconds, len({row.worker_ids[0] for row in rows})


def worked(started):
    return sum(worked_s(one.pid) for one in started)


def timed(work, times):
    began = time.monotonic()
    for number in range(times):
        work(number)
    return (time.monotonic() - began) / times


def one_alone(_number):
    give(0)
    until(lambda: not left())


def measured(tasks):
    found = {"cores": os.cpu_count(), "load": os.getloadavg()[0], "a_second": {}, "worker_ms": {}}
    with tempfile.TemporaryDirectory() as folder:
        for count in WORKERS:
            started = workers(count, folder)
            try:
                before = worked(started)
                found["a_second"][count], hands = in_one_go(tasks)
                found["worker_ms"][count] = 1000 * (worked(started) - before) / tasks
                if count == 1:
                    alone = [timed(one_alone, 1) for _each in range(ALONE)]
                    found["alone_ms"] = 1000 * statistics.median(alone)
            finally:
                for one in started:
                    one.terminate()
                for one in started:
                    one.wait()
            a_second, own = found["a_second"][count], found["worker_ms"][count]
            each = f"{own:.1f} ms of a worker's processor each"
            sys.stdout.write(f"{count} workers: {a_second:.0f} tasks a second, by {hands} of them, {each}\n")
        found["given_ms"] = 1000 * timed(give, 200)
    sys.stdout.write(f"given one by one: {found['given_ms']:.1f} ms each\n")
    sys.stdout.write(f"one alone, from its giving to its end: {found['alone_ms']:.0f} ms\n")
    sys.stdout.write(json.dumps(found) + "\n")
    return 0


def main(words):
    if not is_installed():
        sys.stdout.write("PostgreSQL is not installed: nothing is measured.\n")
        return 0
    tasks = int(words[0]) if words else TASKS
    with postgresql(*DURABLE) as address:
        return in_a_database_of_its_own(lambda: measured(tasks), address)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
