"""Backs the whole site up while it runs, or checks a backup by restoring it into an empty place."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError

from studio.backup import manifest
from studio.backup.errors import BackupError
from studio.backup.making import make_backup
from studio.backup.restoring import check_backup


class Command(BaseCommand):
    help = "Back up database, files and secret into a new folder in DIR; --check restores one and compares."
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("dir", type=Path, metavar="DIR", help="where backups go, or the one to check")
        parser.add_argument("--check", action="store_true", help="restore it elsewhere and compare all")

    def handle(self, *_args: Any, **options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        try:
            said = self._check(options["dir"]) if options["check"] else self._make(options["dir"])
        except (BackupError, OSError, DatabaseError, sqlite3.Error) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(said)

    def _make(self, root: Path) -> str:
        made = make_backup(root, settings.BACKUP_KEEP)
        said = manifest.read(made)
        for name in said.missing:
            self.stderr.write(f"{name} is named by a row, and the site has it no more.")
        counted = f"{sum(said.counts.values())} rows, {len(said.files)} files"
        return f"{made}: {counted}. It is as private as the data."

    def _check(self, given: Path) -> str:
        folder = manifest.chosen(given)
        said = check_backup(folder)
        if said.engine != "sqlite":
            return f"{folder}: all hashes hold; rows are counted only where a PostgreSQL takes them."
        return f"{folder} holds: {sum(said.counts.values())} rows, {len(said.files)} files."
