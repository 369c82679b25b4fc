"""The files of rows: on disk, and while a backup runs none is lost to it by being deleted."""

from __future__ import annotations

from pathlib import Path

from django.core.files.storage import FileSystemStorage

from studio.backup.held import deleting, hold
from studio.backup.on_disk import OnDisk


class HoldingStorage(FileSystemStorage):
    """Django's own, but what is deleted while a backup runs is held for it."""

    for_backups = OnDisk()

    def delete(self, name: str) -> None:
        with deleting():
            if name:
                hold(Path(self.path(name)), name)
            super().delete(name)
