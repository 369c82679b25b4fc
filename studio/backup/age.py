"""When all was last backed up."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from django.conf import settings
from django.utils import timezone

from studio.backup.manifest import moment_of, whole

DAY = dt.timedelta(days=1)
LONG_AGO = dt.timedelta(days=2)


def note_root(root: Path) -> None:
    """Remember where backups go, for sites whose backups are started by hand."""
    (Path(settings.DATA_DIR) / "last_backup").write_text(str(root.resolve()))


def root_of_backups() -> Path | None:
    """Return where backups lie: as the settings say, else where the last one went."""
    if settings.BACKUP_DIR:
        return Path(settings.BACKUP_DIR)
    try:
        return Path((Path(settings.DATA_DIR) / "last_backup").read_text())
    except OSError:
        return None


def last_backup() -> dt.datetime | None:
    """Return when the last good backup that is still there was made, None for never."""
    root = root_of_backups()
    found = whole(root) if root else []
    return moment_of(found[0]) if found else None


def is_due() -> bool:
    """Tell whether a day is over since the last; one from the future tells of a clock put right."""
    last = last_backup()
    return last is None or not dt.timedelta(0) <= timezone.now() - last < DAY


def is_long_ago() -> bool:
    last = last_backup()
    return last is None or timezone.now() - last > LONG_AGO
