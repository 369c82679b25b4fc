"""A worker that also puts back what dead workers left behind; run as many as there is work for."""

from __future__ import annotations

import itertools
import logging
import threading
import time
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.db import DatabaseError, connection
from django_tasks.signals import task_finished, task_started
from django_tasks_db.management.commands.db_worker import Command as DatabaseWorker

from studio.backup.daily import keep_looking as keep_looking_after_backups
from studio.confined.pool import pool
from studio.health import be_seen
from studio.worker import look_after_failed, new_worker_id, put_back_stale

logger = logging.getLogger("studio.worker")
LOOK_EVERY_S = 30
PRUNE_EVERY = 120  # looks, so once an hour
SWEEP_EVERY = 24 * PRUNE_EVERY  # so once a day
KEPT_DAYS = 14


def look_after_tasks(prune: bool = False, sweep: bool = False) -> None:
    """Put stale tasks back, now and then drop old results and files that nothing refers to."""
    try:
        count = put_back_stale()
        given_up = look_after_failed()
        if prune:
            call_command("prune_db_task_results", min_age_days=KEPT_DAYS, verbosity=0)
        if sweep:
            call_command("sweep", verbosity=0)  # by name: what the files are is not known here
    except (DatabaseError, OSError) as error:  # locked or restarting: the next look will do
        logger.warning("could not look for tasks left behind: %s", error)
    else:
        if count:
            logger.warning("tasks left behind by workers that ended: %d", count)
        if given_up:
            logger.error("tasks given up, see manage.py tasks: %d", given_up)


def _keep_looking() -> None:
    for look in itertools.count(1):
        be_seen()
        time.sleep(LOOK_EVERY_S)
        look_after_tasks(prune=look % PRUNE_EVERY == 0, sweep=look % SWEEP_EVERY == 0)
        connection.close()


class Command(DatabaseWorker):
    help = "Run a background worker; tasks that dead workers left are put back."

    def configure_logging(self, verbosity: int) -> None:
        """Leave it to the settings, but for the library's chatter at the end."""
        logging.getLogger("django_tasks_db").setLevel(logging.ERROR)

    def handle(self, **options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        look_after_tasks(prune=True, sweep=True)
        if not options["batch"]:
            task_started.connect(be_seen)
            task_finished.connect(be_seen)
            for keep in (_keep_looking, keep_looking_after_backups):
                threading.Thread(target=keep, daemon=True).start()
        if settings.CONFINE:
            pool().fill()  # ready before the first photo comes
        super().handle(**options | {"worker_id": new_worker_id()})
