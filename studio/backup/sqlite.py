"""SQLite: a moment that nobody waits for, its copy by the online backup, whether a copy is sound."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from django.db import connection

from studio.backup.errors import BackupError

TABLES = "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"
PATIENCE_S = 20


def database_file() -> Path:
    return Path(connection.settings_dict["NAME"])


def opened(file: Path) -> sqlite3.Connection:
    """Open a database that is there, without transactions of the driver's own making."""
    if not file.is_file():
        raise BackupError(f"There is no database at {file}.")
    return sqlite3.connect(file, timeout=PATIENCE_S, isolation_level=None)


class SqliteMoment:
    """What one reading transaction sees."""

    def __init__(self, reader: sqlite3.Connection) -> None:
        self.reader = reader

    def ask(self, question: str) -> list[tuple[Any, ...]]:
        return self.reader.execute(question).fetchall()

    def tables(self) -> list[str]:
        return sorted(name for (name,) in self.ask(TABLES))

    def write(self, file: Path) -> None:
        """Copy this moment; refuse a copy that is not sound, so that it never takes a good one's place."""
        with closing(sqlite3.connect(file)) as copy:
            self.reader.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")  # one file, without -wal and -shm beside it
        file.chmod(0o600)
        demand_soundness(file)


class Sqlite:
    """The site's SQLite."""

    engine = "sqlite"
    file = "studio.sqlite3"

    @contextmanager
    def moment(self, begin: Callable[[], None]) -> Iterator[SqliteMoment]:
        """Give a moment such that no row changes between `begin` and it; writers wait only for that long."""
        with closing(opened(database_file())) as lock, closing(opened(database_file())) as reader:
            lock.execute("BEGIN IMMEDIATE")
            begin()
            reader.execute("BEGIN")
            reader.execute("SELECT 1 FROM sqlite_schema LIMIT 1").fetchall()  # only reading takes the moment
            lock.execute("ROLLBACK")
            yield SqliteMoment(reader)


def demand_soundness(file: Path) -> None:
    """Refuse a database whose pages or indexes are damaged."""
    try:
        with closing(opened(file)) as copy:
            said = copy.execute("PRAGMA integrity_check(1)").fetchall()
    except sqlite3.DatabaseError as error:
        raise BackupError(f"The database is damaged: {error}.") from error
    if said != [("ok",)]:
        raise BackupError(f"The database is damaged: {said[0][0]}.")


def demand_nobody(file: Path) -> None:
    """Refuse while another process has the database open, as far as SQLite can tell."""
    if not file.is_file():
        return
    try:
        with closing(sqlite3.connect(file, timeout=1)) as connected:
            connected.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.OperationalError as error:
        if "locked" in str(error):
            raise BackupError("The studio is running: stop it first.") from error
    except sqlite3.DatabaseError:
        return  # damaged, which may be why one restores
