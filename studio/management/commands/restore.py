"""Brings a backup back, with the studio stopped."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError

from studio.backup import manifest
from studio.backup.errors import BackupError
from studio.backup.restoring import restore_backup


class Command(BaseCommand):
    help = "Bring the backup DIR (or the newest in DIR) back into DATA_DIR, with the studio stopped."
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("dir", type=Path, metavar="DIR", help="a backup, or the folder of backups")
        parser.add_argument("--over", action="store_true", help="put aside what is in DATA_DIR")

    def handle(self, *_args: Any, **options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        try:
            folder = manifest.chosen(options["dir"])
            said, aside = restore_backup(folder, over=options["over"])
        except (BackupError, OSError, DatabaseError, sqlite3.Error) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{folder} is restored: {sum(said.counts.values())} rows, {len(said.files)} files.")
        if aside:
            self.stdout.write(f"What was there before is in {aside}; delete it once it is not needed.")
