"""The files of rows in a bucket: while a backup runs none is lost to it by being deleted.

As on the disk (`held`) there is a mark, and whoever deletes a file copies it beside the mark first. Machines
share no lock, so a deletion that saw no mark may come after it; a backup that then misses a file fails, the
last good one stays, and the next is made in an hour.
"""

from __future__ import annotations

import hashlib
import socket
from collections.abc import Iterator, Sequence
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from functools import cached_property
from pathlib import Path

from django.conf import settings
from django.core.files import File

from studio.backup import held, manifest
from studio.backup.errors import BackupError, BusyError
from studio.backup.manifest import Manifest
from studio.backup.on_disk import link_or_copy
from studio.bucket.storage import Bucket

HELD, ASIDE = ".held/", "before-"
MARK = f"{HELD}mark"
# no backup takes so long: what another machine began before that is dead
LONGEST = timedelta(days=1)
# so far may our clock and the bucket's be apart
APART = timedelta(minutes=2)


def held_name(name: str) -> str:
    """Return where a file of this name is held, if it was deleted since the mark was set."""
    return HELD + hashlib.sha256(name.encode()).hexdigest()


class HoldingBucket(Bucket):
    """The site's bucket, but what is deleted while a backup runs is held for it."""

    def delete(self, name: str) -> None:
        if name and not name.startswith(HELD) and self.exists(MARK) and not self.exists(held_name(name)):
            with suppress(FileNotFoundError):
                self.copy(name, held_name(name))
        super().delete(name)

    @cached_property
    def for_backups(self) -> InBucket:
        return InBucket(self)


class InBucket:
    """The files of a bucket, as a backup and the way back see them."""

    def __init__(self, bucket: HoldingBucket) -> None:
        self.bucket = bucket
        self.there: dict[str, tuple[int, datetime]] = {}
        self.before: list[tuple[Path, Manifest]] = []

    def set_mark(self) -> None:
        self.let_go()
        self.bucket.put(MARK, socket.gethostname().encode())

    def let_go(self) -> None:
        if self._is_anothers():
            raise BusyError("Another machine backs this bucket up.")
        self.bucket.delete(MARK)  # first, since others may be adding to it
        for name, _size, _at in list(self.bucket.walk(HELD)):
            self.bucket.delete(name)

    def let_go_of_the_dead(self) -> None:
        if self.bucket.exists(MARK):
            with suppress(BusyError), held.alone(Path(settings.DATA_DIR)):
                self.let_go()

    def _is_anothers(self) -> bool:
        """Tell whether another machine set the mark, and not so long ago that it must have died."""
        try:
            with self.bucket.open(MARK) as mark:
                whose = mark.read()
            since = self.bucket.get_modified_time(MARK)
        except FileNotFoundError:
            return False
        return whose != socket.gethostname().encode() and datetime.now(UTC) - since < LONGEST

    def missing(self, named: Sequence[str]) -> list[str]:
        """Ask for all names at once and not for each."""
        self.there = {name: (size, at) for name, size, at in self.bucket.walk("")}
        return [n for n in named if n not in self.there and held_name(n) not in self.there]

    def know_of(self, earlier: Sequence[Path]) -> None:
        self.before = [(one, manifest.read(one)) for one in earlier[:1]]

    def take(self, name: str, place: Path) -> None:
        """Take it from where it lies, but rather what was held, as on the disk.

        What an earlier backup has need not be fetched: a file is never written again under its name.
        """
        if self._is_in_an_earlier(name, place):
            return
        try:
            self.bucket.fetch(name, place)
        except FileNotFoundError:
            self.bucket.fetch(held_name(name), place)
            return
        with suppress(FileNotFoundError):
            self.bucket.fetch(held_name(name), place)

    def _is_in_an_earlier(self, name: str, place: Path) -> bool:
        """Take it from the newest backup, if that has it as it was noted, and later than it was written."""
        size, at = self.there.get(name, (-1, datetime.now(UTC)))
        for before, said in self.before:
            there, noted = before / "files" / name, said.files.get(f"files/{name}")
            if noted and noted[0] == size and _is_later(there, at) and manifest.sealed(there) == noted:
                link_or_copy(there, place)
                return True
        return False

    def is_occupied(self) -> bool:
        return any(True for _name in self._own())

    def _own(self) -> Iterator[str]:
        """Yield what is the site's, and neither held nor put aside."""
        for name, _size, _at in self.bucket.walk(""):
            if not name.startswith((HELD, ASIDE)):
                yield name

    def put_aside(self, aside: Path) -> None:
        for name in list(self._own()):
            self.bucket.copy(name, f"{aside.name}/{name}")
            self.bucket.delete(name)

    def put_in(self, folder: Path) -> None:
        for file in sorted(one for one in folder.rglob("*") if one.is_file()):
            name = str(file.relative_to(folder))
            with file.open("rb") as opened:
                if self.bucket.save(name, File(opened)) != name:
                    raise BackupError(f"{name} is in the bucket already.")


def _is_later(there: Path, at: datetime) -> bool:
    try:
        return datetime.fromtimestamp(there.stat().st_mtime, UTC) > at + APART
    except OSError:
        return False
