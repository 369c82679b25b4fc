"""The site's files on the disk, as a backup and the way back see them."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from pathlib import Path

from django.conf import settings

from studio.backup import held


class OnDisk:
    """Files below MEDIA_ROOT."""

    def set_mark(self) -> None:
        held.set_mark()

    def let_go(self) -> None:
        held.let_go()

    def let_go_of_the_dead(self) -> None:
        held.let_go_of_the_dead()

    def missing(self, named: Sequence[str]) -> list[str]:
        return [name for name in named if not _is_there(name)]

    def know_of(self, earlier: Sequence[Path]) -> None:
        """Links cost nothing, so that no file need come from there."""

    def take(self, name: str, place: Path) -> None:
        """Take a file from where it lies, but rather what was held: what lies there then has its name anew.

        A file is held before it is deleted, so this order misses nothing.
        """
        try:
            link_or_copy(Path(settings.MEDIA_ROOT) / name, place)
        except FileNotFoundError:
            link_or_copy(held.held_file(name), place)
            return
        if held.held_file(name).exists():
            place.unlink()
            link_or_copy(held.held_file(name), place)

    def is_occupied(self) -> bool:
        return False  # they lie in DATA_DIR, which is looked at

    def put_aside(self, aside: Path) -> None:
        if Path(settings.MEDIA_ROOT).exists():
            shutil.move(settings.MEDIA_ROOT, aside / Path(settings.MEDIA_ROOT).name)

    def put_in(self, folder: Path) -> None:
        root = Path(settings.MEDIA_ROOT)
        if root.is_dir():
            root.rmdir()  # empty, or it had been put aside
        shutil.move(folder, root)


def _is_there(name: str) -> bool:
    return (Path(settings.MEDIA_ROOT) / name).is_file() or held.held_file(name).is_file()


def link_or_copy(source: Path, place: Path) -> None:
    """Link a file, which is never written again, or copy it where the file system allows no link."""
    try:
        os.link(source, place)
    except FileNotFoundError:
        raise
    except OSError:
        shutil.copyfile(source, place)
        place.chmod(0o600)
