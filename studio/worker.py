"""Tasks that came to no end: put back, tried again after a pause, and given up with a sentence for people.

django-tasks-db leaves a task whose worker died RUNNING for ever, and one that failed FAILED.

A worker's id says on which machine and in which process it runs, and each process says in the database that
it lives (`lease`): what one ran of whom nothing was heard for half a minute goes back, wherever that was. A
process of this machine that is gone is known at once; what runs longer than any of ours can goes back as
well. Tasks are written so that running one twice is the same as once. One that failed three times is given
up: what its module names for it in GIVEN_UP says so to whoever waits. That its worker died says little of a
task, since what people sent is opened by children: of that it takes ten times.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import logging
import os
import socket
from collections.abc import Collection, Sequence
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone
from django.utils.crypto import get_random_string
from django_tasks_db.models import DBTaskResult

from studio import lease
from studio.errors import FilesUnreachable

logger = logging.getLogger("studio.worker")
LONGEST = dt.timedelta(minutes=15)
TRIES = 3
DEATHS = 10
DIED = "died:"  # stands before the id of a worker that died while it ran the task
# before the second and the third try
PAUSES = (dt.timedelta(minutes=1), dt.timedelta(minutes=10))
ENDED = "given up"
UNREACHED = f"{FilesUnreachable.__module__}.{FilesUnreachable.__qualname__}"


def new_worker_id() -> str:
    """Return an id for a hand of this process, at most 64 characters long."""
    return f"{this_process()}/{get_random_string(8)}"


def this_process() -> str:
    """Return the name of this process among all of all machines, by which it holds its lease."""
    return f"{_machine()}/{os.getpid()}"


def process_of(worker_id: str) -> str:
    return worker_id.rpartition("/")[0]


@cache
def _machine() -> str:
    """Return a name for whatever shares our process numbers; two containers may share a host's name."""
    try:
        shared = Path("/proc/sys/kernel/random/boot_id").read_text() + os.readlink("/proc/self/ns/pid")
    except OSError:  # not Linux
        shared = ""
    mark = hashlib.sha256(shared.encode()).hexdigest()[:8]
    return f"{socket.gethostname().replace('/', '')[:30]}-{mark}"


_let_go: set[str] = set()


def let_go(worker_id: str) -> None:
    """Say that nobody of this process goes by this id any more: what it ran goes back."""
    _let_go.add(worker_id)


def is_gone(worker_id: str, alive: Collection[str]) -> bool:
    """Whether it works no more: it has ended here, or nothing was heard of its process."""
    return worker_id in _let_go or process_of(worker_id) not in alive or _has_ended_here(worker_id)


def _has_ended_here(worker_id: str) -> bool:
    """Whether this was a process of this machine that lives no more; False where that cannot be known."""
    machine, _slash, rest = worker_id.partition("/")
    pid = rest.partition("/")[0]
    if machine != _machine() or not pid.isdigit():
        return False
    try:
        os.kill(int(pid), 0)
    except ProcessLookupError:
        return True
    except PermissionError:  # alive, and somebody else's
        return False
    return False


def put_back_stale(now: dt.datetime | None = None) -> int:
    """Put tasks of dead workers back into the queue, give up those tried too often; count both."""
    now = now or timezone.now()
    running = list(DBTaskResult.objects.running())
    alive = lease.alive() if running else set()  # asked later: who took a task up was heard of before
    return sum(_put_back(task, is_gone(_worker_of(task), alive), now) for task in running)


def _worker_of(task: DBTaskResult[Any, Any]) -> str:
    return str(task.worker_ids[-1]) if task.worker_ids else ""


def _put_back(task: DBTaskResult[Any, Any], gone: bool, now: dt.datetime) -> int:
    """Change the row if its worker is gone or it takes too long, and it is the run that was seen; 1 if so."""
    if not gone and task.started_at is not None and now - task.started_at <= LONGEST:
        return 0
    seen = DBTaskResult.objects.running().filter(pk=task.pk, started_at=task.started_at)
    *before, last = task.worker_ids or [""]
    runs = [*before, DIED + last if gone else last]
    if _may_run_again(runs):
        later = now + _after_deaths(len(runs) - _tries(runs))
        changed: int = seen.update(status="READY", started_at=None, worker_ids=runs, run_after=later)
    else:
        why = f"{len(runs)} workers ended, or took too long, while they ran it"
        changed = seen.update(status="FAILED", finished_at=now, traceback=why, worker_ids=runs)
    return changed


def _after_deaths(count: int) -> dt.timedelta:
    """How long a task waits whose workers died: not at all after the first, then twice as long each time."""
    return dt.timedelta(seconds=2**count if count > 1 else 0)


def _may_run_again(runs: Sequence[str]) -> bool:
    return _tries(runs) < TRIES and len(runs) - _tries(runs) < DEATHS


def _tries(runs: Sequence[str]) -> int:
    """Return how often it came to an end of its own, or to none."""
    return sum(not worker.startswith(DIED) for worker in runs)


def failed() -> QuerySet[DBTaskResult[Any, Any]]:
    """Return the tasks that failed and were not given up yet."""
    rows: QuerySet[DBTaskResult[Any, Any]] = DBTaskResult.objects.filter(status="FAILED")
    return rows.exclude(traceback__startswith=ENDED)


def look_after_failed(now: dt.datetime | None = None) -> int:
    """Try failed tasks again after a pause, give up those that were tried often enough; count the latter."""
    now = now or timezone.now()
    return sum(_try_again(task, now) for task in failed())


def _try_again(task: DBTaskResult[Any, Any], now: dt.datetime) -> int:
    tries = max(1, _tries(task.worker_ids))
    if task.exception_class_path == UNREACHED:  # no fault of the task's, so that this try does not count
        failed().filter(pk=task.pk).update(worker_ids=task.worker_ids[:-1])
        run_again(task, (task.finished_at or now) + PAUSES[0])
        return 0
    if _may_run_again(task.worker_ids):
        run_again(task, (task.finished_at or now) + PAUSES[tries - 1])
        return 0
    try:
        _give_up(task)
    except Exception:  # whatever it is, the others must get their turn
        logger.exception("%s could not be given up", task.task_path)
    changed: int = (
        failed()
        .filter(pk=task.pk)
        .update(traceback=f"{ENDED} after {len(task.worker_ids)}: {task.traceback}")
    )
    return changed


def run_again(task: DBTaskResult[Any, Any], after: dt.datetime) -> None:
    """Put a task that failed back into the queue, not to be run before."""
    rows = DBTaskResult.objects.filter(pk=task.pk, status="FAILED")
    rows.update(status="READY", started_at=None, finished_at=None, run_after=after)


def _give_up(task: DBTaskResult[Any, Any]) -> None:
    """Tell whoever waits for the task that nothing will come of it."""
    module, _dot, name = task.task_path.rpartition(".")
    end = getattr(import_module(module), "GIVEN_UP")[name]  # noqa: B009  # every module of tasks has one
    if end is not None:
        end(*task.args_kwargs["args"], **task.args_kwargs["kwargs"])
