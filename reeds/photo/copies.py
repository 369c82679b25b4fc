"""The copies of a photo that pages show, written beside the upload: upright, for a screen, as a thumbnail."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import PurePosixPath

from django.core.files.base import ContentFile
from django.core.files.storage import Storage
from django.db.models.fields.files import FieldFile


def write_copies(raw: FieldFile, copies: Mapping[str, bytes]) -> dict[str, str]:
    """Write the copies of an upload beside it; return their names, as `copy_names` does."""
    names = copy_names(str(raw.name))
    for copy, content in copies.items():
        _write(raw.storage, names[copy], content)
    return names


def copy_names(raw: str) -> dict[str, str]:
    """Return where the copies of a raw upload are: one path each, the same whenever it is asked."""
    stem = PurePosixPath(raw).with_suffix("")
    return {copy: f"{stem}-{copy}.jpg" for copy in ("upright", "screen", "thumbnail")}


def _write(storage: Storage, name: str, content: bytes) -> None:
    storage.delete(name)  # what an earlier run, killed in the middle, left
    saved = storage.save(name, ContentFile(content))
    if saved != name:  # another run of the same task wrote the same picture at the same moment
        storage.delete(saved)
