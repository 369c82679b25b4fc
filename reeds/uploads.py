"""What people send: checked before it is kept, read into upright pictures by the worker."""

from __future__ import annotations

import datetime as dt
import io
import warnings
from dataclasses import dataclass

import pillow_heif
from django.core.files import File
from django.utils.translation import gettext as _
from PIL import ExifTags, Image, ImageOps, UnidentifiedImageError

from studio.errors import NotPossible

pillow_heif.register_heif_opener()

MAX_BYTES = 25 * 1024 * 1024
MAX_PIXELS = 60_000_000
FORMATS = {"JPEG": ".jpg", "PNG": ".png", "WEBP": ".webp", "HEIF": ".heic", "MPO": ".jpg"}
# Pillow's own guard must not raise before ours has said its sentence
Image.MAX_IMAGE_PIXELS = None


def check_upload(upload: File[bytes]) -> str:
    """Return the extension of the picture's true format, or say in one sentence why it is not taken.

    Only the header is read: the whole picture is decoded by the worker.
    """
    if not upload.size:
        raise NotPossible(_("This file is empty. Take the photo again."))
    if upload.size > MAX_BYTES:
        raise NotPossible(_("This file is larger than 25 MB. Send a smaller photo."))
    with _opened(upload) as picture:
        if picture.width * picture.height > MAX_PIXELS:
            raise NotPossible(_("This picture has more than 60 megapixels. Send a smaller photo."))
        extension = FORMATS[picture.format or ""]
    upload.seek(0)
    return extension


def _opened(stream: File[bytes] | io.BytesIO) -> Image.Image:
    stream.seek(0)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return Image.open(stream, formats=["JPEG", "PNG", "WEBP", "HEIF", "MPO"])
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise NotPossible(
            _("This is not a picture that can be read: send a JPEG, PNG, WebP or HEIC photo.")
        ) from None


@dataclass(frozen=True)
class Upright:
    """A picture set upright, without metadata, and what was read from the file before that was dropped."""

    picture: Image.Image
    format: str
    original_width: int
    original_height: int
    orientation: int
    taken_at: dt.datetime | None
    focal_35mm: float | None


def read_upright(data: bytes) -> Upright:
    """Decode a whole photo, upright, as RGB; NotPossible with a sentence where the file is damaged."""
    with _opened(io.BytesIO(data)) as opened:
        exif = opened.getexif()
        details = exif.get_ifd(ExifTags.IFD.Exif)
        try:
            opened.load()
            upright = ImageOps.exif_transpose(opened).convert("RGB")
        except (OSError, ValueError, SyntaxError):
            raise NotPossible(
                _("This photo is damaged: a part of the file is missing. Send it again.")
            ) from None
        return Upright(
            picture=Image.frombytes(
                "RGB", upright.size, upright.tobytes()
            ),  # leaves every kind of metadata behind
            format=opened.format or "",
            original_width=opened.width,
            original_height=opened.height,
            orientation=_orientation(exif),
            taken_at=_taken_at(details),
            focal_35mm=_focal(details),
        )


def _orientation(exif: Image.Exif) -> int:
    value = exif.get(ExifTags.Base.Orientation, 1)
    return value if value in range(1, 9) else 1


def _taken_at(details: dict[int, object]) -> dt.datetime | None:
    text = str(details.get(ExifTags.Base.DateTimeOriginal, ""))
    offset = str(details.get(ExifTags.Base.OffsetTimeOriginal, "")).replace(":", "")
    try:
        if offset:
            return dt.datetime.strptime(text + offset, "%Y:%m:%d %H:%M:%S%z")
        return dt.datetime.strptime(text, "%Y:%m:%d %H:%M:%S").replace(tzinfo=dt.UTC)
    except ValueError:
        return None


def _focal(details: dict[int, object]) -> float | None:
    try:
        focal = float(details.get(ExifTags.Base.FocalLengthIn35mmFilm, 0))  # type: ignore[arg-type]  # EXIF holds anything
    except (TypeError, ValueError):
        return None
    return focal if 5 <= focal <= 500 else None
