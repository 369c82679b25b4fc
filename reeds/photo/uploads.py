"""What people send: checked before it is kept, read into upright pictures by the worker."""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import struct
import warnings
from dataclasses import dataclass

import numpy as np
import pillow_heif
from django.core.files import File
from django.utils.translation import gettext as _
from PIL import ExifTags, Image, ImageCms, UnidentifiedImageError

from studio.errors import NotPossible

pillow_heif.register_heif_opener()

MAX_BYTES = 25 * 1024 * 1024
MAX_PIXELS = 60_000_000
FORMATS = {"JPEG": ".jpg", "PNG": ".png", "WEBP": ".webp", "HEIF": ".heic", "MPO": ".jpg"}
SRGB = ImageCms.createProfile("sRGB")
# Exif 2.32 (CIPA DC-008), tag 274: what sets each orientation upright
TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
# what Pillow and libheif raise on bytes that are no picture, or not a whole one
UNREADABLE = (
    UnidentifiedImageError,
    OSError,
    ValueError,
    SyntaxError,
    EOFError,
    IndexError,
    KeyError,
    struct.error,
    ZeroDivisionError,
    Image.DecompressionBombError,
)
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
        extension = FORMATS[picture.format or ""]
    upload.seek(0)
    return extension


def _opened(stream: File[bytes] | io.BytesIO) -> Image.Image:
    """Open a picture by what is in it, whatever its name says."""
    stream.seek(0)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # odd metadata is no reason to refuse a photo
            picture = Image.open(stream, formats=list(FORMATS))
    except UNREADABLE:
        raise NotPossible(
            _("This is not a picture that can be read: send a JPEG, PNG, WebP or HEIC photo.")
        ) from None
    if picture.width * picture.height > MAX_PIXELS:
        raise NotPossible(_("This picture has more than 60 megapixels. Send a smaller photo."))
    return picture


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


def read_upright(data: bytes, zone: dt.tzinfo = dt.UTC) -> Upright:
    """Decode a whole photo, upright, as sRGB; NotPossible with a sentence where the file is damaged.

    `zone` is where the camera is taken to have been if the file names no offset.
    """
    with _opened(io.BytesIO(data)) as opened, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        exif = _exif(opened)
        details = exif.get_ifd(ExifTags.IFD.Exif)
        orientation = _orientation(opened, exif)
        try:
            opened.load()
            picture = _plain(_turned(opened, exif))
        except UNREADABLE:
            raise NotPossible(
                _("This photo is damaged: a part of the file is missing. Send it again.")
            ) from None
        width, height = picture.size[::-1] if orientation >= 5 else picture.size
        picture.info.clear()  # comment, profile, Exif: nothing of it may reach a copy
        return Upright(
            picture=picture,
            format="JPEG" if opened.format == "MPO" else opened.format or "",
            original_width=width,
            original_height=height,
            orientation=orientation,
            taken_at=_taken_at(details, zone),
            focal_35mm=_focal(details),
        )


def _exif(opened: Image.Image) -> Image.Exif:
    try:
        return opened.getexif()
    except UNREADABLE:
        return Image.Exif()  # broken metadata, whole picture


def _orientation(opened: Image.Image, exif: Image.Exif) -> int:
    """Return Exif tag 274; a HEIC file is turned while it is opened and says there what it was."""
    value = opened.info.get("original_orientation") or exif.get(ExifTags.Base.Orientation, 1)
    return value if value in range(1, 9) else 1


def _turned(opened: Image.Image, exif: Image.Exif) -> Image.Image:
    method = TURNS.get(exif.get(ExifTags.Base.Orientation, 1))
    return opened.copy() if method is None else opened.transpose(method)


def _plain(opened: Image.Image) -> Image.Image:
    """Return the picture as 8-bit sRGB on white."""
    profile = opened.info.get("icc_profile")
    picture = _eight_bit(opened)
    if "A" in picture.getbands() or "transparency" in picture.info:
        picture = _on_white(picture.convert("RGBA"))
    elif profile and picture.mode in ("RGB", "CMYK", "L"):
        picture = _to_srgb(picture, profile)
    return picture if picture.mode == "RGB" else picture.convert("RGB")


def _eight_bit(picture: Image.Image) -> Image.Image:
    if not picture.mode.startswith("I"):
        return picture
    # a 16-bit grey picture: Pillow's own conversion would clip it to white
    return Image.fromarray((np.asarray(picture).astype(np.uint32) >> 8).clip(0, 255).astype(np.uint8))


def _on_white(picture: Image.Image) -> Image.Image:
    sheet = Image.new("RGB", picture.size, "white")
    sheet.paste(picture, mask=picture.getchannel("A"))
    return sheet


def _to_srgb(picture: Image.Image, profile: bytes) -> Image.Image:
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        turned = ImageCms.profileToProfile(picture, source, SRGB, outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError):
        return picture  # a broken profile: the colours as they are
    return turned if turned is not None else picture


def _taken_at(details: dict[int, object], zone: dt.tzinfo) -> dt.datetime | None:
    text = str(details.get(ExifTags.Base.DateTimeOriginal, "")).strip("\0 ")
    offset = str(details.get(ExifTags.Base.OffsetTimeOriginal, "")).strip("\0 ").replace(":", "")
    with contextlib.suppress(ValueError):
        return dt.datetime.strptime(text + offset, "%Y:%m:%d %H:%M:%S%z")
    with contextlib.suppress(ValueError):
        return dt.datetime.strptime(text, "%Y:%m:%d %H:%M:%S").replace(tzinfo=zone)
    return None


def _focal(details: dict[int, object]) -> float | None:
    try:
        focal = float(details.get(ExifTags.Base.FocalLengthIn35mmFilm, 0))  # type: ignore[arg-type]  # EXIF holds anything
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return focal if 5 <= focal <= 500 else None
