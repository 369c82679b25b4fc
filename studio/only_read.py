"""A database that could only be read and can be written again: a process that knows it as the former ends.

SQLite's connections of one process share how its `-shm` was opened (os_unix.c, unixOpenSharedMemory): one
that was opened while the disk could only be read has all later ones refuse to write, as long as any of them
is open, and of several threads one always is. Whoever started the process starts another.
"""

from __future__ import annotations

import logging
import os
import signal
import threading
import time
from pathlib import Path

from django.db import DatabaseError, connection

logger = logging.getLogger("studio.trouble")
LONGEST_S = 10.0
# where the system allows it and SQLite still cannot, processes that end at once would end the site
YOUNG_S = 15.0
_begun_at = time.monotonic()
_met = threading.Event()


def met(error: DatabaseError) -> None:
    """Remember it if this error says that the database can only be read."""
    if connection.vendor == "sqlite" and "readonly" in str(error):
        _met.set()


def end_if_over() -> bool:
    """End this process in order, once, if it met that and the database can be written now; whether it did."""
    if not _met.is_set() or time.monotonic() - _begun_at < YOUNG_S:
        return False
    if not can_be_written(Path(connection.settings_dict["NAME"])):
        return False
    _met.clear()
    logger.warning("the database can be written again: this process ends, another opens it anew")
    os.kill(os.getpid(), signal.SIGTERM)
    return True


def end_web_if_over(**_signal: object) -> None:
    """As above, for a web process: it ends what it is at, and whoever sends slowly does not hold it up."""
    if end_if_over():
        last = threading.Timer(LONGEST_S, os.kill, (os.getpid(), signal.SIGKILL))
        last.daemon = True
        last.start()


def can_be_written(database: Path) -> bool:
    """Whether the system lets us write all that SQLite writes: the folder, the file and those beside it."""
    beside = [database.with_name(database.name + end) for end in ("-wal", "-shm")]
    return all(os.access(path, os.W_OK) for path in (database.parent, database, *beside) if path.exists())
