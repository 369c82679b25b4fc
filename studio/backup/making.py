"""A backup made while the site runs, under another name until it is whole: the last good one stays."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.db import connection

from studio.backup import held, manifest
from studio.backup.age import note_root
from studio.backup.errors import BackupError
from studio.backup.files import files
from studio.backup.manifest import Manifest
from studio.backup.moment import Database, Moment, counts, names
from studio.backup.postgresql import Postgres
from studio.backup.sqlite import Sqlite
from studio.push.signing import KEY_FILE

UNFINISHED, UNWANTED, CHECKED = ".making-", ".unwanted-", ".checking-"
SECRETS = ("secret_key", KEY_FILE)
TRIES, PAUSE_S = 10, 0.3


def database() -> Database:
    """Return how this site's kind of database is backed up."""
    kinds: dict[str, type[Database]] = {"sqlite": Sqlite, "postgresql": Postgres}
    if connection.vendor not in kinds:
        raise BackupError(f"A database of the kind {connection.vendor} is not backed up by this command.")
    return kinds[connection.vendor]()


def make_backup(root: Path, keep: int) -> Path:
    """Back everything up into a new folder below `root`, keep that many; return the folder."""
    with held.alone(Path(settings.DATA_DIR)), held.alone(root):
        clear(root)
        folder = root / f"{UNFINISHED}{os.getpid()}"
        folder.mkdir(mode=0o700)
        try:
            fill(folder)
            made = name_it(folder)
        finally:
            shutil.rmtree(folder, ignore_errors=True)
            files().let_go()
        note_root(root)
        prune(root, keep, made)
    return made


def clear(root: Path) -> None:
    """Take away what backups and checks that were killed have left."""
    for start in (UNFINISHED, UNWANTED, CHECKED):
        for left in root.glob(f"{start}*"):
            shutil.rmtree(left, ignore_errors=True)


def fill(folder: Path) -> None:
    """Put database, files and secrets into a folder, the manifest last."""
    kind = database()
    said = Manifest(kind.engine, kind.file)
    files().know_of(manifest.whole(folder.parent))
    with moment_with_its_files(kind) as (moment, named, missing):
        said.missing = missing
        said.counts = counts(moment.ask, moment.tables())
        moment.write(folder / kind.file)
    copy_files(folder, said, named)
    copy_secrets(folder, said)
    said.add(folder, kind.file)
    said.write(folder)


@contextmanager
def moment_with_its_files(kind: Database) -> Iterator[tuple[Moment, list[str], list[str]]]:
    """Give a moment all of whose files are there: its names, and at the end of patience those without a file.

    Some work deletes a file before the row that names it. Such a row changes at once, so the next moment has
    none; a name that stays without its file was lost before, which no backup mends.
    """
    for left in reversed(range(TRIES)):
        with kind.moment(files().set_mark) as moment:
            named = names(moment.ask)
            missing = files().missing(named)
            if not missing or not left:
                yield moment, [name for name in named if name not in set(missing)], missing
                return
        time.sleep(PAUSE_S)


def copy_files(folder: Path, said: Manifest, named: Iterable[str]) -> None:
    """Take every named file as it was at the moment."""
    for name in named:
        path = f"files/{name}"
        (folder / path).parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        take_file(name, folder / path)
        said.add(folder, path)


def take_file(name: str, place: Path) -> None:
    """Take a file as it was at the moment."""
    files().take(name, place)


def copy_secrets(folder: Path, said: Manifest) -> None:
    """Take along what is kept secret beside the data; one given by SECRET_KEY is its giver's to keep."""
    for name in SECRETS:
        secret = Path(settings.DATA_DIR) / name
        if secret.is_file():
            with os.fdopen(os.open(folder / name, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
                file.write(secret.read_bytes())
            said.add(folder, name)


def name_it(folder: Path) -> Path:
    """Give a whole backup its name: the one step by which it comes to be."""
    made = folder.with_name(datetime.now(UTC).strftime(manifest.MOMENT))
    sync(folder, *(one for one in folder.rglob("*") if one.is_dir()))
    folder.rename(made)
    sync(made.parent)
    return made


def sync(*folders: Path) -> None:
    """Have the names in folders on the disk itself."""
    for folder in folders:
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)


def prune(root: Path, keep: int, made: Path) -> None:
    """Delete the oldest beyond those to keep, never the one just made, even if a clock went back."""
    others = [one for one in manifest.whole(root) if one != made]
    for old in others[max(keep, 1) - 1 :]:
        unwanted = old.with_name(f"{UNWANTED}{old.name}")
        old.rename(unwanted)  # first its name, so that no half backup is ever taken for a whole one
        shutil.rmtree(unwanted, ignore_errors=True)
