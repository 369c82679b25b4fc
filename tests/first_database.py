"""The test database, migrated once and copied from then on until the code changes: it takes five seconds."""

from __future__ import annotations

import fcntl
import hashlib
import os
import sqlite3
import sys
from contextlib import closing
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TextIO

import django
from django.conf import settings
from django.db import connection

# with the environment, which is made anew when a library changes
KEPT = Path(sys.prefix) / "first-database"
# of so many states of the code: branches in turn, several copies of the tree with one environment
AT_MOST = 12


@cache
def state_of_the_code() -> str:
    """Return what stands for all that a migration may call: our own code, the libraries."""
    found = hashlib.sha256(django.__version__.encode())
    found.update((settings.BASE_DIR / "requirements.txt").read_bytes())
    for app in ("studio", "reeds", "lessons"):
        for file in sorted((settings.BASE_DIR / app).rglob("*.py")):
            found.update(f"{file.relative_to(settings.BASE_DIR)}\n".encode() + file.read_bytes())
    return found.hexdigest()[:24]


@dataclass
class FirstDatabase:
    """A migrated database of this state of the code, and a lock, held by whoever makes or copies it.

    Attributes
    ----------
    folder : Path
        Shared by all workers of all runs.
    lock : TextIO
        Held from the moment this is made until `settled`.
    was_there : bool
        Whether another worker has migrated before us.
    """

    folder: Path
    lock: TextIO = field(init=False)
    was_there: bool = field(init=False)

    def __post_init__(self) -> None:
        self.folder.mkdir(exist_ok=True)
        self.lock = self.file.with_suffix(".lock").open("w")  # other states of the code do not wait
        fcntl.flock(self.lock, fcntl.LOCK_EX)
        self.was_there = self.file.exists()

    @property
    def file(self) -> Path:
        return self.folder / f"{state_of_the_code()}.sqlite3"

    def give(self, test: dict[str, object], own_name: str) -> None:
        """Set the test database up: where it is, and whether it is to be migrated."""
        test["NAME"] = own_name
        if self.was_there:
            test["MIGRATE"] = False
            os.utime(self.file)  # what is used is not forgotten
            _copied(self.file, Path(own_name))

    def settled(self, name: str) -> None:
        """Our database is made: leave a copy if we are the first, and let the others go on."""
        if not self.was_there:
            half = self.file.with_suffix(".half")
            half.unlink(missing_ok=True)  # of a run that was killed at it
            _copied(Path(name), half)
            os.replace(half, self.file)
            self._forget_the_oldest()
        self.lock.close()

    def _forget_the_oldest(self) -> None:
        kept = sorted(self.folder.glob("*.sqlite3"), key=lambda file: file.stat().st_mtime)
        for file in kept[:-AT_MOST]:
            file.unlink(missing_ok=True)  # another state may be at it too
            file.with_suffix(".lock").unlink(missing_ok=True)


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
