"""What is deleted while a backup runs is held until it has ended.

The mark is a folder among the files: while it is there, whoever deletes a file links it into it first. A
process that dies takes its lock with it, so a mark without a lock is a dead backup's and is taken away.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from django.conf import settings

from studio.backup.errors import BusyError


def held_dir() -> Path:
    """Return the folder that is the mark, beside the files so that a link always reaches it."""
    return Path(settings.MEDIA_ROOT) / ".held"


def held_file(name: str) -> Path:
    """Return where the file of this name is held, if it was deleted since the mark was set."""
    return held_dir() / hashlib.sha256(name.encode()).hexdigest()


def hold(file: Path, name: str) -> None:
    """Keep a file that is about to be deleted, if a backup runs; of several of one name the first is kept.

    The first, since rows do not change between the mark and the backup's moment: whatever took the name again
    came later.
    """
    if not file.is_file():
        return
    kept = held_file(name)
    try:
        os.link(file, kept)
    except (FileExistsError, FileNotFoundError):  # held already; no backup runs, or the file is gone
        return
    except OSError:  # a file system without hard links
        if not kept.exists():
            with suppress(FileNotFoundError):
                file.rename(kept)


@contextmanager
def deleting(how: int = fcntl.LOCK_SH) -> Iterator[None]:
    """Delete beside others who do, but not while a mark is set: that is done in between, at once."""
    try:
        lock = os.open(settings.MEDIA_ROOT, os.O_RDONLY)
    except FileNotFoundError:  # no file was ever written
        yield
        return
    try:
        fcntl.flock(lock, how)
        yield
    finally:
        os.close(lock)


def set_mark() -> None:
    """Hold deletions from now on; what was held before is let go."""
    Path(settings.MEDIA_ROOT).mkdir(parents=True, exist_ok=True)
    with deleting(fcntl.LOCK_EX):  # a deletion that saw no mark is over before there is one
        let_go()
        held_dir().mkdir(mode=0o700)


def let_go() -> None:
    """Take the mark away with all that was held: its name first, since others may be adding to it."""
    gone = held_dir().with_name(".let-go")
    shutil.rmtree(gone, ignore_errors=True)
    with suppress(FileNotFoundError):
        held_dir().rename(gone)
    shutil.rmtree(gone, ignore_errors=True)


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Lock a folder against other backups, or refuse; the lock ends with the process, however that ends."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    lock = os.open(folder, os.O_RDONLY)
    try:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise BusyError("Another backup, check or restore is running.") from error
        yield
    finally:
        os.close(lock)


def let_go_of_the_dead() -> None:
    """Take away the mark of a backup that was killed."""
    if held_dir().exists():
        with suppress(BusyError), alone(Path(settings.DATA_DIR)):
            let_go()
