"""Tasks whose worker died: django-tasks-db leaves them RUNNING for ever, here they are put back.

A worker's id says on which machine and in which process it runs. A task whose worker is a process of this
machine that is gone goes back at once; one that runs longer than any of ours can goes back as well, whoever
has it. Tasks are written so that running one twice is the same as once. One that took three workers with it
is given up.
"""

from __future__ import annotations

import datetime as dt
import os
import socket
from typing import Any

from django.utils import timezone
from django.utils.crypto import get_random_string
from django_tasks_db.models import DBTaskResult

LONGEST = dt.timedelta(minutes=15)
TRIES = 3


def new_worker_id() -> str:
    """Return an id for this process, at most 64 characters long."""
    return f"{_machine()}/{os.getpid()}/{get_random_string(8)}"


def _machine() -> str:
    return socket.gethostname().replace("/", "")[:40]


def is_gone(worker_id: str) -> bool:
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
    stale = [task for task in DBTaskResult.objects.running() if _is_stale(task, now)]
    return sum(_put_back(task, now) for task in stale)


def _is_stale(task: DBTaskResult[Any, Any], now: dt.datetime) -> bool:
    worker = task.worker_ids[-1] if task.worker_ids else ""
    return is_gone(worker) or task.started_at is None or now - task.started_at > LONGEST


def _put_back(task: DBTaskResult[Any, Any], now: dt.datetime) -> int:
    """Change the row only if it is still the run that was seen; 1 if it was."""
    seen = DBTaskResult.objects.running().filter(pk=task.pk, started_at=task.started_at)
    if len(task.worker_ids) < TRIES:
        changed: int = seen.update(status="READY", started_at=None)
    else:
        gave_up = f"given up: {len(task.worker_ids)} workers ended while they ran it"
        changed = seen.update(status="FAILED", finished_at=now, traceback=gave_up)
    return changed
