"""The queues of the worker, and the hands that work through them.

A task names its queue, and each queue has hands of its own, threads of the one worker: what takes long or
breaks in one of them, a picture of a minute, a mail server that does not answer, keeps nobody of another
waiting, and where a queue has two hands not even the next of its own. The hands only wait: what computes are
children (`confined`).
"""

from __future__ import annotations

import datetime as dt
import logging
import threading
from collections.abc import Collection
from typing import Any

from django.conf import settings
from django.db import DatabaseError, close_old_connections, connection, transaction
from django.db.models import Case, F, QuerySet, When
from django.utils import timezone
from django_tasks_db.management.commands.db_worker import Worker
from django_tasks_db.models import DBTaskResult

from studio import only_read
from studio.worker import let_go, new_worker_id

logger = logging.getLogger("studio.worker")


def due(now: dt.datetime) -> Case:
    """Return since when a task could have begun: when it was put off to, else when it was given."""
    return Case(When(run_after__lte=now, then=F("run_after")), default=F("enqueued_at"))


def waiting(queues: Collection[str]) -> QuerySet[DBTaskResult[Any, Any]]:
    """Return the tasks of these queues that may begin, the one that waits longest first."""
    rows: QuerySet[DBTaskResult[Any, Any]] = DBTaskResult.objects.ready().filter(queue_name__in=queues)
    return rows.order_by("-priority", due(timezone.now()))


class Hand(Worker):
    """Takes one task after the other from its queues, until it is told to stop."""

    def __init__(self, queues: Collection[str], stopped: threading.Event, interval_s: float) -> None:
        self.queues, self.stopped, self.interval_s = queues, stopped, interval_s
        self.rung = threading.Event()  # a task came; see studio/bell.py
        self.worker_id, self.running_task, self._run_tasks = new_worker_id(), False, 0

    def run(self) -> None:
        """Work until stopped; whatever a task does, the next one gets its turn."""
        while not self.stopped.is_set():
            close_old_connections()
            if not self.work_one():
                self.rung.wait(self.interval_s)
                self.rung.clear()  # before the stop and the next task are looked at: neither is missed
        connection.close()

    def run_all(self) -> None:
        """Work until nothing waits."""
        while self.work_one():
            pass

    def work_one(self) -> bool:
        """Run the next task, if there is one; whether there was."""
        try:
            task = self._taken()
        except DatabaseError as error:  # locked, full or restarting: the next look will do
            only_read.met(error)
            logger.warning("could not look for tasks: %s", error)
            return False
        if task is None:
            return False
        try:
            self.run_task(task)
        except Exception:  # how it ended could not be written down
            logger.exception("%s did not end", task.task_path)
            let_go(self.worker_id)
            self.worker_id = new_worker_id()
        return True

    def _taken(self) -> DBTaskResult[Any, Any] | None:
        """Take the next task that no other hand is taking. To look whether there is one locks nothing."""
        waits = waiting(self.queues)
        if not waits.exists():
            return None
        with transaction.atomic():  # which on SQLite lets one hand in at a time
            task = waits.select_for_update(skip_locked=True).first()
            if task is not None:
                task.status, task.started_at = "RUNNING", timezone.now()
                task.worker_ids = [*task.worker_ids, self.worker_id]
                task.save(update_fields=["status", "started_at", "worker_ids"])
            return task


def hands(queues: Collection[str], stopped: threading.Event, interval_s: float) -> list[Hand]:
    """Return the hands of these queues, as many each as the settings say."""
    return [Hand([queue], stopped, interval_s) for queue in queues for _hand in range(settings.QUEUES[queue])]
