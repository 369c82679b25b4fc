"""The copies of a photo that pages show, written beside the upload: upright, and three smaller ones."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import PurePosixPath

from django.core.files.base import ContentFile
from django.core.files.storage import Storage
from django.db.models.fields.files import FieldFile

COPIES = ("upright", "large", "screen", "thumbnail")


def write_copies(raw: FieldFile, copies: Mapping[str, bytes]) -> dict[str, str]:
    """Write the copies of an upload beside it; return their names, '' for one that was not made."""
    names = copy_names(str(raw.name))
    for copy, name in names.items():
        raw.storage.delete(name)  # what an earlier run, killed in the middle, left
        if copy in copies:
            _write(raw.storage, name, copies[copy])
    return {copy: name if copy in copies else "" for copy, name in names.items()}


def copy_names(raw: str) -> dict[str, str]:
    """Return where the copies of a raw upload are: one path each, the same whenever it is asked."""
    stem = PurePosixPath(raw).with_suffix("")
    return {copy: f"{stem}-{copy}.jpg" for copy in COPIES}


def _write(storage: Storage, name: str, content: bytes) -> None:
    saved = storage.save(name, ContentFile(content))
    if saved != name:  # another run of the same task wrote the same picture at the same moment
        storage.delete(saved)
