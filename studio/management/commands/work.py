"""A worker: hands for each queue, and a look now and then at what dead workers left behind."""

from __future__ import annotations

import contextlib
import itertools
import logging
import signal
import sys
import threading
import time
from collections.abc import Collection, Iterator
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import DatabaseError, connection
from django_tasks.signals import task_finished, task_started

from studio import bell, lease
from studio.backup.daily import keep_looking as keep_looking_after_backups
from studio.confined.pool import pool
from studio.health import be_seen
from studio.only_read import end_if_over
from studio.queues import Hand, hands
from studio.sampled import sample_rows
from studio.worker import look_after_failed, put_back_stale, this_process

logger = logging.getLogger("studio.worker")
LOOK_EVERY_S = 30
PRUNE_EVERY = 120  # looks, so once an hour
SWEEP_EVERY = 24 * PRUNE_EVERY  # so once a day
KEPT_DAYS = 14


def look_after_tasks(prune: bool = False, sweep: bool = False) -> None:
    """Put stale tasks back; now and then drop what nobody needs any more, and have rows counted."""
    try:
        count = put_back_stale()
        given_up = look_after_failed()
        if prune:
            call_command("prune_db_task_results", min_age_days=KEPT_DAYS, verbosity=0)
            call_command("clearsessions", verbosity=0)
            lease.forget_the_dead()
        if sweep:
            call_command("sweep", verbosity=0)  # by name: what the files are is not known here
            sample_rows()
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
        end_if_over()
        look_after_tasks(prune=look % PRUNE_EVERY == 0, sweep=look % SWEEP_EVERY == 0)
        connection.close()


class Command(BaseCommand):
    help = "Run a background worker for all queues, or those named; what dead workers left is put back."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--queue", action="append", choices=list(settings.QUEUES), help="only this queue; may be repeated"
        )
        parser.add_argument(
            "--batch", action="store_true", help="run what waits, one after another, then end"
        )
        parser.add_argument(
            "--interval", type=float, default=5.0, help="seconds after which a hand looks though nobody rang"
        )

    def handle(
        self,
        *_args: Any,  # noqa: ANN401  # as BaseCommand has it
        queue: list[str] | None,
        batch: bool,
        interval: float,
        **_options: Any,  # noqa: ANN401  # as BaseCommand has it
    ) -> None:
        queues = queue or list(settings.QUEUES)
        stopped = threading.Event()
        with holding_a_lease():
            look_after_tasks(prune=True, sweep=True)
            if settings.CONFINE and set(queues) - {"mail"}:
                pool().fill()  # ready before the first photo comes
            if batch:
                Hand(queues, stopped, 0).run_all()
                return
            at_work = hands(queues, stopped, interval)
            _end_in_order(stopped, at_work)
            begin_to_look()
            _work(at_work, stopped)


@contextlib.contextmanager
def holding_a_lease() -> Iterator[None]:
    """Have the database know that this process works, until it ends in order or nothing is heard of it."""
    ended, name = threading.Event(), this_process()
    lease.renew(name)
    renewing = threading.Thread(target=lease.keep_renewing, args=(name, ended), daemon=True)
    renewing.start()
    try:
        yield
    finally:
        ended.set()
        renewing.join()
        with contextlib.suppress(DatabaseError):
            lease.let_end(name)


def begin_to_look() -> None:
    """Show that a worker lives, and look now and then after tasks and backups, beside what it works at."""
    task_started.connect(be_seen)
    task_finished.connect(be_seen)
    for keep in (_keep_looking, keep_looking_after_backups):
        threading.Thread(target=keep, daemon=True).start()


def _end_in_order(stopped: threading.Event, at_work: Collection[Hand]) -> None:
    """Have a signal end the worker after what its hands are at, a second one at once."""

    def stop(_number: int, _frame: object) -> None:
        if stopped.is_set():
            sys.exit(1)
        stopped.set()
        for hand in at_work:
            hand.rung.set()

    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGQUIT):
        signal.signal(number, stop)


def _work(at_work: Collection[Hand], stopped: threading.Event) -> None:
    def heard(queue: str | None) -> None:
        for hand in at_work:
            if queue is None or queue in hand.queues:
                hand.rung.set()

    threading.Thread(target=bell.listen, args=(heard, stopped), daemon=True).start()
    threads = [threading.Thread(target=hand.run, daemon=True) for hand in at_work]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
