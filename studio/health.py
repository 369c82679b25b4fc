"""Whether the site can do its work: told to a program that watches, so in English, with nothing private."""

from __future__ import annotations

import contextlib
import datetime as dt
import shutil
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.storage import default_storage
from django.db import DatabaseError, connection, transaction
from django.db.models import Min
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from studio import lease
from studio.queues import due

FREE_BYTES = 500 * 1024 * 1024  # twenty uploads of the largest size
UNSEEN_S = 120.0  # a worker shows itself every half minute
WAITING_S = 15 * 60.0  # the longest that any task runs
LOCKED_S = 2.0


@dataclass(frozen=True)
class Health:
    """What was looked at, with a reason where it does not hold, else an empty one."""

    reasons: dict[str, str]
    oldest_waiting_s: int | None = None  # None: nothing waits, or it cannot be known

    @property
    def is_well(self) -> bool:
        return not any(self.reasons.values())

    def as_json(self) -> dict[str, object]:
        said = {name: reason or "ok" for name, reason in self.reasons.items()}
        return {"ok": self.is_well, **said, "oldest_waiting_s": self.oldest_waiting_s}


def look() -> Health:
    """Look at everything that a request or a task needs."""
    reasons = {"database": _database(), "disk": _disk(), "worker": _worker()}
    if settings.S3_BUCKET:
        reasons["files"] = _files()
    if reasons["database"]:
        return Health({**reasons, "tasks": "cannot be known"})
    if reasons["worker"] and lease.alive(dt.timedelta(seconds=UNSEEN_S)):
        reasons["worker"] = ""  # on another machine
    waiting_s = oldest_waiting_s()
    late = waiting_s is not None and waiting_s > WAITING_S
    return Health({**reasons, "tasks": "one waits too long" if late else ""}, waiting_s)


def _database() -> str:
    try:
        with _impatient(), transaction.atomic(), connection.cursor() as cursor:  # which takes SQLite's lock
            cursor.execute("SELECT 1")
    except DatabaseError:
        return "does not answer, or is locked"
    return ""


@contextlib.contextmanager
def _impatient() -> Iterator[None]:
    """Have SQLite wait for a lock as long as a watcher does; a page waits longer."""
    if connection.vendor != "sqlite":
        yield
        return
    usual_ms = int(connection.settings_dict["OPTIONS"].get("timeout", 5) * 1000)
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA busy_timeout = {LOCKED_S * 1000:.0f}")
        try:
            yield
        finally:
            cursor.execute(f"PRAGMA busy_timeout = {usual_ms}")


def _disk() -> str:
    try:
        free = shutil.disk_usage(settings.DATA_DIR).free
    except OSError:
        return "cannot be read"
    return "" if free >= FREE_BYTES else "is nearly full"


def _files() -> str:
    bucket: Any = default_storage
    return "" if bucket.is_reached() else "cannot be reached"


def _seen() -> Path:
    return Path(settings.DATA_DIR) / "worker_seen"


def be_seen(**_signal: object) -> None:
    """Note that a worker lives; on a disk that cannot be written `readyz` says so anyhow."""
    with contextlib.suppress(OSError):
        _seen().touch()


def _worker() -> str:
    try:
        ago_s = time.time() - _seen().stat().st_mtime
    except OSError:
        return "none was ever seen"
    return "" if ago_s <= UNSEEN_S else "none was seen lately"


def oldest_waiting_s() -> int | None:
    """Return how long the task waits that could have begun first, None where none does."""
    now = timezone.now()
    since = DBTaskResult.objects.ready().aggregate(since=Min(due(now)))["since"]
    return None if since is None else max(0, int((now - since).total_seconds()))
