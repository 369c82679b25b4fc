"""Which workers live, on whatever machine: each says so in the database, every few seconds.

What counts is the database's clock, which is one for all machines. A worker that was not heard of for
`LEASE` is taken for dead, and what it ran goes back: see studio/worker.py.
"""

from __future__ import annotations

import datetime as dt
import logging
import threading

from django.db import DatabaseError, connection, models
from django.db.models.functions import Now

logger = logging.getLogger("studio.worker")
# a machine that stands still for less than this loses nothing by it; whose task was put back too soon
# finishes it twice, which is the same as once
LEASE = dt.timedelta(seconds=30)
RENEW_EVERY_S = 5.0
KEPT = dt.timedelta(days=1)


class WorkerLease(models.Model):
    """One process that works, by its machine and number, and when it last said so."""

    worker = models.CharField(max_length=64, primary_key=True)
    seen_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.worker


def renew(worker: str) -> None:
    """Say that this worker lives, in one statement."""
    row = WorkerLease(worker=worker, seen_at=Now())
    WorkerLease.objects.bulk_create(
        [row], update_conflicts=True, unique_fields=["worker"], update_fields=["seen_at"]
    )


def let_end(worker: str) -> None:
    """Say that it has ended: nothing of it is waited for."""
    WorkerLease.objects.filter(worker=worker).update(seen_at=Now() - LEASE)


def alive(since: dt.timedelta = LEASE) -> set[str]:
    """Return the workers that were heard of within this time."""
    heard = WorkerLease.objects.filter(seen_at__gt=Now() - since)
    return set(heard.values_list("worker", flat=True))


def forget_the_dead() -> None:
    WorkerLease.objects.filter(seen_at__lt=Now() - KEPT).delete()


def keep_renewing(worker: str, ended: threading.Event) -> None:
    """Renew until it has ended; a database that is away is asked again."""
    while not ended.wait(RENEW_EVERY_S):
        try:
            renew(worker)
        except DatabaseError as error:  # locked or restarting
            logger.warning("could not say that this worker lives: %s", error)
            connection.close()
    connection.close()
