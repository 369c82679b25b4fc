"""The copies of a photo that pages show: upright, for a screen, as a thumbnail."""

from __future__ import annotations

import io
from pathlib import PurePosixPath

from django.core.files.base import ContentFile
from django.core.files.storage import Storage
from django.db.models.fields.files import FieldFile
from PIL import Image

SCREEN = 1600
THUMBNAIL = 320


def write_copies(raw: FieldFile, picture: Image.Image) -> dict[str, str]:
    """Write the copies of an upload beside it; return their names, as `copy_names` does."""
    screen = _within(picture, SCREEN)
    copies = {
        "upright": _jpeg(picture, quality=95),
        "screen": _jpeg(screen, quality=82),
        "thumbnail": _jpeg(_within(screen, THUMBNAIL), quality=80),
    }
    names = copy_names(str(raw.name))
    for copy, content in copies.items():
        _write(raw.storage, names[copy], content)
    return names


def copy_names(raw: str) -> dict[str, str]:
    """Return where the copies of a raw upload are: one path each, the same whenever it is asked."""
    stem = PurePosixPath(raw).with_suffix("")
    return {copy: f"{stem}-{copy}.jpg" for copy in ("upright", "screen", "thumbnail")}


def _write(storage: Storage, name: str, content: ContentFile[bytes]) -> None:
    storage.delete(name)  # what an earlier run, killed in the middle, left
    saved = storage.save(name, content)
    if saved != name:  # another run of the same task wrote the same picture at the same moment
        storage.delete(saved)


def _within(picture: Image.Image, side: int) -> Image.Image:
    """Return a copy no larger than `side`; from the decoded picture this beats a second, drafted decoding."""
    share = min(1.0, side / max(picture.size))
    size = (max(1, round(picture.width * share)), max(1, round(picture.height * share)))
    return picture.resize(size, Image.Resampling.LANCZOS, reducing_gap=1.0)


def _jpeg(picture: Image.Image, quality: int) -> ContentFile[bytes]:
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", quality=quality, subsampling=0 if quality >= 95 else 2)
    return ContentFile(buffer.getvalue())
