"""Where the site's files are, as a backup and the way back see it: on the disk, or in a bucket."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Protocol

from django.core.files.storage import default_storage


class Files(Protocol):
    """What a backup asks of a place of files."""

    def set_mark(self) -> None:
        """Hold deletions from now on; what was held before is let go."""

    def let_go(self) -> None:
        """Take the mark away with all that was held."""

    def let_go_of_the_dead(self) -> None:
        """Take away the mark of a backup that was killed."""

    def missing(self, named: Sequence[str]) -> list[str]:
        """Return those of these names whose file is neither there nor held."""

    def know_of(self, earlier: Sequence[Path]) -> None:
        """Know of earlier backups, the newest first."""

    def take(self, name: str, place: Path) -> None:
        """Put a file as it was at the moment into a backup."""

    def is_occupied(self) -> bool:
        """Tell whether any file of a site is there."""

    def put_aside(self, aside: Path) -> None:
        """Move all files away, into this folder or one of its name; none is deleted."""

    def put_in(self, folder: Path) -> None:
        """Take files that were laid out in a folder; nothing else is there."""


def files() -> Files:
    """Return the site's own, which its storage knows."""
    storage: Any = default_storage
    place: Files = storage.for_backups
    return place
