"""The worker's part: a backup a day where BACKUP_DIR is set, and a warning where there is none."""

from __future__ import annotations

import logging
import sqlite3
import time
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection

from studio.backup.age import is_due, is_long_ago, last_backup
from studio.backup.errors import BackupError, BusyError
from studio.backup.files import files
from studio.backup.making import make_backup

logger = logging.getLogger("studio.backup")
LOOK_EVERY_S = 3600


def look_after_backups() -> None:
    """Make a backup if it is time for one, and say in the log if there is none of the last two days."""
    try:
        files().let_go_of_the_dead()
        if settings.BACKUP_DIR and is_due():
            make_backup(Path(settings.BACKUP_DIR), settings.BACKUP_KEEP)
    except BusyError:
        return  # another worker's, or one made by hand: in an hour we look again
    except (BackupError, OSError, DatabaseError, sqlite3.Error) as error:
        logger.error("no backup was made: %s", error)
    if settings.BACKUP_DIR and is_long_ago():
        logger.warning("no good backup of the last two days, the last one: %s", last_backup() or "never")


def keep_looking() -> None:
    """Look now and every hour, as long as the process lives."""
    while True:
        try:
            look_after_backups()
        except Exception:  # whatever it is: a worker that no longer looks would be silent for ever
            logger.exception("no backup was made")
        connection.close()
        time.sleep(LOOK_EVERY_S)
