"""What a backup says of itself: rows counted, and of every file its size and hash."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import os
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from studio.backup.errors import BackupError

NAME = "manifest.json"
MOMENT = "%Y-%m-%dT%H-%M-%S.%fZ"


@dataclass
class Manifest:
    """Said of a backup: `files` are paths within it, `missing` are names whose files the site has lost."""

    engine: str
    database: str
    counts: dict[str, int] = field(default_factory=dict)
    files: dict[str, tuple[int, str]] = field(default_factory=dict)
    missing: list[str] = field(default_factory=list)

    def add(self, folder: Path, path: str) -> None:
        """Note a file of the backup as it lies there now."""
        self.files[path] = sealed(folder / path)

    def write(self, folder: Path) -> None:
        """Write it into the backup, on the disk itself."""
        with (folder / NAME).open("w") as file:
            json.dump(asdict(self), file, indent=1)
            file.flush()
            os.fsync(file.fileno())


def read(folder: Path) -> Manifest:
    """Return what a backup says of itself, or refuse with a sentence."""
    try:
        said: dict[str, Any] = json.loads((folder / NAME).read_text())
        files = {str(path): (int(size), str(digest)) for path, (size, digest) in said.pop("files").items()}
        return Manifest(**said, files=files)
    except FileNotFoundError as error:
        raise BackupError(f"{folder} is no backup: it has no {NAME}.") from error
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise BackupError(f"{folder / NAME} cannot be read.") from error


def sealed(file: Path) -> tuple[int, str]:
    """Return size and SHA-256 of a file, once it is on the disk itself."""
    with file.open("rb") as opened:
        os.fsync(opened.fileno())
        digest = hashlib.file_digest(opened, "sha256").hexdigest()
        return opened.tell(), digest


def demand_hashes(folder: Path, manifest: Manifest) -> None:
    """Refuse a folder whose files are not those that the manifest names."""
    for path, noted in manifest.files.items():
        try:
            there = sealed(folder / path)
        except OSError as error:
            raise BackupError(f"{path} cannot be read in this backup.") from error
        if there != noted:
            raise BackupError(f"{path} is not what was backed up: its hash does not hold.")


def moment_of(folder: Path) -> dt.datetime | None:
    """Return when a backup was made, by its name; None for any other folder."""
    try:
        return dt.datetime.strptime(folder.name, MOMENT).replace(tzinfo=dt.UTC)
    except ValueError:
        return None


def whole(root: Path) -> list[Path]:
    """Return the backups of a folder, the newest first: only what was whole ever got such a name."""
    try:
        found = [one for one in root.iterdir() if moment_of(one) and (one / NAME).is_file()]
    except OSError:  # not there, or a disk that is not mounted
        return []
    return sorted(found, reverse=True)


def chosen(given: Path) -> Path:
    """Return the backup that a path means: itself, or the newest in that folder."""
    if (given / NAME).is_file():
        return given
    if not (found := whole(given)):
        raise BackupError(f"There is no backup in {given}.")
    return found[0]
