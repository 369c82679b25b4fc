"""Whoever gives the worker a task rings, so that nobody has to look every second whether there is one.

On PostgreSQL the ring is a notice (LISTEN, NOTIFY), heard on any machine once the task is committed. SQLite
is of one machine: there each worker has a named pipe in DATA_DIR, into which is written after the commit. A
ring that gets lost costs a few seconds: hands look by themselves as well.
"""

from __future__ import annotations

import contextlib
import errno
import logging
import os
import select
import threading
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import DatabaseError, connection, transaction
from django.dispatch import receiver
from django_tasks.signals import task_enqueued
from django_tasks_db import DatabaseBackend

logger = logging.getLogger("studio.worker")
CHANNEL = "reed_studio_tasks"
PAUSE_S = 5.0  # before it is listened anew, and between two looks whether to go on

# of which queue; None: who listens now may have missed some
Heard = Callable[[str | None], None]


@receiver(task_enqueued)
def ring(sender: type, task_result: Any, **_given: Any) -> None:  # noqa: ANN401  # as the signal has it
    """Say that a task waits, once it is committed."""
    if not issubclass(sender, DatabaseBackend):
        return
    queue = task_result.task.queue_name
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_notify(%s, %s)", [CHANNEL, queue])  # told with the commit
    else:
        transaction.on_commit(partial(_ring_here, queue), robust=True)


def pipes() -> Path:
    return Path(settings.DATA_DIR) / "bells"


def _ring_here(queue: str) -> None:
    """Write into every worker's pipe; one that nobody reads is of a worker that died."""
    for pipe in pipes().glob("*.pipe"):
        try:
            opened = os.open(pipe, os.O_WRONLY | os.O_NONBLOCK)
        except OSError as error:
            if error.errno == errno.ENXIO:
                pipe.unlink(missing_ok=True)
            continue
        try:
            with contextlib.suppress(OSError):  # full: then it is awake
                os.write(opened, f"{queue}\n".encode())
        finally:
            os.close(opened)


def listen(heard: Heard, ended: threading.Event) -> None:
    """Tell `heard` the queue of each ring until it has ended; a bell that breaks is hung up again."""
    rings = _notices if connection.vendor == "postgresql" else _written
    while not ended.is_set():
        try:
            for queue in rings(ended):
                heard(queue)
        except (DatabaseError, OSError) as error:
            logger.warning("tasks are not told of at once: %s", error)
            ended.wait(PAUSE_S)
        finally:
            connection.close()


def _notices(ended: threading.Event) -> Iterator[str | None]:
    """Yield the queues of notices, on a connection of this thread's own."""
    with connection.cursor() as cursor:
        cursor.execute(f"LISTEN {CHANNEL}")
    yield None
    while not ended.is_set():
        with connection.wrap_database_errors:
            for notice in connection.connection.notifies(timeout=PAUSE_S, stop_after=1):
                yield notice.payload


def _written(ended: threading.Event) -> Iterator[str | None]:
    """Yield the queues that are written into a pipe of our own, which is open before it has its name."""
    pipes().mkdir(mode=0o700, exist_ok=True)
    pipe = pipes() / f"{os.getpid()}-{threading.get_ident()}.pipe"
    unnamed = pipe.with_suffix(".made")
    unnamed.unlink(missing_ok=True)
    os.mkfifo(unnamed, 0o600)
    opened = os.open(unnamed, os.O_RDWR | os.O_NONBLOCK)  # for writing too: it never comes to an end
    try:
        unnamed.rename(pipe)
        yield None
        while not ended.is_set():
            if select.select([opened], [], [], PAUSE_S)[0]:
                yield from set(os.read(opened, 65536).decode().split())
    finally:
        pipe.unlink(missing_ok=True)
        os.close(opened)
