"""The test database of the worker that came first, copied by the others: to migrate takes five seconds."""

from __future__ import annotations

import fcntl
import os
import sqlite3
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import TextIO

from django.db import connection


@dataclass
class FirstDatabase:
    """A file beside the workers' folders and a lock, held by whoever makes its database.

    Attributes
    ----------
    folder : Path
        Of the whole run, shared by its workers.
    lock : TextIO
        Held from the moment this is made until `settled`.
    was_there : bool
        Whether another worker has migrated before us.
    """

    folder: Path
    lock: TextIO = field(init=False)
    was_there: bool = field(init=False)

    def __post_init__(self) -> None:
        self.lock = (self.folder / "first.lock").open("w")
        fcntl.flock(self.lock, fcntl.LOCK_EX)
        self.was_there = self.file.exists()

    @property
    def file(self) -> Path:
        return self.folder / "first.sqlite3"

    def give(self, test: dict[str, object], own_name: str) -> None:
        """Set the test database up: where it is, and whether it is to be migrated."""
        test["NAME"] = own_name
        if self.was_there:
            test["MIGRATE"] = False
            _copied(self.file, Path(own_name))

    def settled(self, name: str) -> None:
        """Our database is made: leave a copy if we are the first, and let the others go on."""
        if not self.was_there:
            half = self.folder / "first.half"
            _copied(Path(name), half)
            os.replace(half, self.file)
        self.lock.close()


class FirstOnServer(FirstDatabase):
    """The same on a server: the others' are made from a template, named as the first one's."""

    @property
    def file(self) -> Path:
        return self.folder / "first.name"

    def give(self, test: dict[str, object], _own_name: str) -> None:
        if self.was_there:
            test |= {"MIGRATE": False, "TEMPLATE": self.file.read_text()}

    def settled(self, name: str) -> None:
        if not self.was_there:
            connection.close()  # a database is copied while nobody is in it
            with connection._nodb_cursor() as cursor:
                cursor.execute(f'DROP DATABASE IF EXISTS "{name}_first"')
                cursor.execute(f'CREATE DATABASE "{name}_first" TEMPLATE "{name}"')
            self.file.write_text(f"{name}_first")
        self.lock.close()


def _copied(source: Path, target: Path) -> None:
    with closing(sqlite3.connect(source)) as there, closing(sqlite3.connect(target)) as here:
        there.backup(here)
