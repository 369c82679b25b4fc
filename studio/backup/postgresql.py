"""PostgreSQL by its own tools, which must be installed: pg_dump and pg_restore."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.db import connection, transaction

from studio.backup.errors import BackupError

TABLES = "SELECT tablename FROM pg_tables WHERE schemaname = current_schema() ORDER BY tablename"


class PostgresMoment:
    """What one transaction sees that others cannot change, known to pg_dump by its exported name."""

    def ask(self, question: str) -> list[tuple[Any, ...]]:
        with connection.cursor() as cursor:
            cursor.execute(question)
            return list(cursor.fetchall())

    def tables(self) -> list[str]:
        return [name for (name,) in self.ask(TABLES)]

    def write(self, file: Path) -> None:
        snapshot = self.ask("SELECT pg_export_snapshot()")[0][0]
        dump(file, f"--snapshot={snapshot}")


class Postgres:
    """The site's PostgreSQL."""

    engine = "postgresql"
    file = "studio.dump"

    @contextmanager
    def moment(self, begin: Callable[[], None]) -> Iterator[PostgresMoment]:
        """Give a moment after `begin`."""
        demand("pg_dump")
        begin()
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            yield PostgresMoment()


def dump(file: Path, *further: str) -> None:
    """Write all of the database into a file."""
    run("pg_dump", "--format=custom", f"--file={file}", *further)
    file.chmod(0o600)


def bring_back(dump: Path) -> None:
    """Replace what is in the database by a dump, all of it or nothing."""
    run("pg_restore", "--clean", "--if-exists", "--no-owner", "--single-transaction", str(dump))


def demand_list(dump: Path) -> None:
    """Refuse a dump that pg_restore cannot read; its rows are counted only once it is in a database."""
    run("pg_restore", "--list", str(dump), aims=False)


def demand(tool: str) -> str:
    """Return where a tool of PostgreSQL is, or refuse."""
    if not (found := shutil.which(tool)):
        raise BackupError(f"{tool} is not found: install PostgreSQL's client tools to back up this database.")
    return found


def run(tool: str, *arguments: str, aims: bool = True) -> None:
    """Run one of PostgreSQL's tools on the site's database; the password goes by the environment."""
    known = connection.settings_dict
    named = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    given = {name: str(known[key]) for name, key in named.items() if known.get(key)}
    aim = [f"--dbname={known['NAME']}"] if aims else []
    ran = subprocess.run(  # noqa: S603
        [demand(tool), *aim, *arguments], env=os.environ | given, capture_output=True, text=True, check=False
    )
    if ran.returncode:
        raise BackupError(f"{tool} failed: {(ran.stderr.strip().splitlines() or ['it says nothing'])[-1]}")
