"""The way back: a backup laid out, compared with what it says of itself, and put in the place of the data."""

from __future__ import annotations

import os
import shutil
import tempfile
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings

from studio.backup import held, manifest, postgresql, sqlite
from studio.backup.errors import BackupError
from studio.backup.files import files
from studio.backup.making import CHECKED, SECRETS, database
from studio.backup.manifest import Manifest
from studio.backup.moment import Moment, counts
from studio.backup.on_disk import link_or_copy

WORK = ".restoring"
# what every start makes by itself
OF_ANY_START = {"static", *SECRETS, WORK}


def check_backup(folder: Path) -> Manifest:
    """Restore a backup into an empty place of its own and compare all; return what it says."""
    said = manifest.read(folder)
    root = folder.resolve().parent
    where = root if os.access(root, os.W_OK) else Path(tempfile.gettempdir())
    with held.alone(root), tempfile.TemporaryDirectory(prefix=CHECKED, dir=where) as place:
        lay_out(folder, Path(place), said)
    return said


def restore_backup(folder: Path, over: bool) -> tuple[Manifest, Path | None]:
    """Bring a backup back; return what it says of itself, and where what was there before was put."""
    said = manifest.read(folder)
    data = Path(settings.DATA_DIR)
    if said.engine != database().engine:
        raise BackupError(f"This backup is of {said.engine}; DATABASE_URL names another kind of database.")
    if is_occupied(data) and not over:
        raise BackupError(f"{data} is not empty: --over puts what is there aside and restores.")
    with held.alone(data):
        shutil.rmtree(data / WORK, ignore_errors=True)
        (data / WORK).mkdir(mode=0o700)
        try:
            lay_out(folder, data / WORK, said)
            if said.engine == "sqlite":
                sqlite.demand_nobody(sqlite.database_file())
            aside = put_aside(data, said) if is_occupied(data) else None
            put_in(data, said)
        finally:
            shutil.rmtree(data / WORK, ignore_errors=True)
    return said, aside


def lay_out(folder: Path, place: Path, said: Manifest) -> None:
    """Put all of a backup into an empty place; refuse what is not as the manifest says."""
    if said.database not in said.files:
        raise BackupError("This backup has no database.")
    for path in said.files:
        if not (place / path).resolve().is_relative_to(place.resolve()):
            raise BackupError(f"{path} lies outside of the backup.")
        (place / path).parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        try:
            copy = link_or_copy if path.startswith("files/") else shutil.copy
            copy(folder / path, place / path)
        except OSError as error:
            raise BackupError(f"{path} cannot be read in this backup: {error.strerror}.") from error
    manifest.demand_hashes(place, said)
    demand_rows(place / said.database, said)


def demand_rows(file: Path, said: Manifest) -> None:
    """Refuse a database that is damaged or has not the rows that were counted."""
    if said.engine != "sqlite":
        postgresql.demand_list(file)
        return
    sqlite.demand_soundness(file)
    with closing(sqlite.opened(file)) as copy:
        compare_rows(sqlite.SqliteMoment(copy), said)


def compare_rows(moment: Moment, said: Manifest) -> None:
    """Refuse where a table has more or fewer rows than were counted."""
    there = counts(moment.ask, moment.tables())
    for table in sorted(there.keys() | said.counts.keys()):
        if there.get(table) != said.counts.get(table):
            raise BackupError(
                f"{table} has {there.get(table)} rows, {said.counts.get(table)} were backed up."
            )


def is_occupied(data: Path) -> bool:
    """Tell whether anything but what a start makes is there."""
    found = [one for one in data.iterdir() if one.name not in OF_ANY_START] if data.is_dir() else []
    return (
        has_database() or files().is_occupied() or any(one.is_file() or any(one.iterdir()) for one in found)
    )


def has_database() -> bool:
    """Tell whether there is one already, wherever DATABASE_URL says."""
    if database().engine == "sqlite":
        return sqlite.database_file().is_file()
    return bool(postgresql.PostgresMoment().tables())


def put_aside(data: Path, said: Manifest) -> Path:
    """Move what is there into a folder beside it; nothing is deleted, what a PostgreSQL has is dumped."""
    aside = data / f"before-{datetime.now(UTC).strftime(manifest.MOMENT)}"
    aside.mkdir(mode=0o700)
    files().put_aside(aside)
    old = []
    if said.engine == "sqlite":
        file = sqlite.database_file()
        old += [file, Path(f"{file}-wal"), Path(f"{file}-shm")]
    else:
        postgresql.dump(aside / said.database)
    old += [data / name for name in SECRETS if name in said.files]
    for one in old:
        if one.exists():
            shutil.move(one, aside / one.name)
    return aside


def bring_into_postgresql(dump: Path, said: Manifest) -> None:
    postgresql.bring_back(dump)
    compare_rows(postgresql.PostgresMoment(), said)


def put_in(data: Path, said: Manifest) -> None:
    """Move what was laid out into place; the database last, since without it there is no half site."""
    work = data / WORK
    if said.engine != "sqlite":
        bring_into_postgresql(work / said.database, said)
    (work / "files").mkdir(mode=0o700, exist_ok=True)
    files().put_in(work / "files")
    for name in said.files.keys() & set(SECRETS):
        (work / name).replace(data / name)
    if said.engine == "sqlite":
        shutil.move(work / said.database, sqlite.database_file())
