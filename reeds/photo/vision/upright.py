"""Bytes of an uploaded picture to an upright array, by Pillow alone, with its focal length if it says one."""

from __future__ import annotations

import io
import math
import warnings
from dataclasses import dataclass

import numpy as np
import pillow_heif
from PIL import Image, ImageOps, UnidentifiedImageError

from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Pixels
from reeds.photo.vision.refusal import PhotoRefused

MAX_BYTES = 25 * 1024 * 1024
MAX_PIXELS = 60_000_000
MIN_SIDE = 200
FORMATS = ("JPEG", "PNG", "WEBP", "HEIF", "TIFF", "AVIF")
EXIF_IFD = 0x8769
FOCAL_35MM = 0xA405
ORIENTATION = 274

pillow_heif.register_heif_opener()
Image.init()  # so that every format above is known by its name


@dataclass(frozen=True)
class Picture:
    """An upright picture.

    Attributes
    ----------
    rgb : uint8 array, (height, width, 3)
    focal_35mm : float or None
        Focal length as the file states it for a 35 mm frame, mm; None where the file is silent.
    """

    rgb: Pixels
    focal_35mm: float | None = None

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.rgb.shape[1], self.rgb.shape[0]


def read_picture(data: bytes) -> Picture:
    """Decode an uploaded photo and turn it upright.

    Parameters
    ----------
    data : bytes
        The file as it came: JPEG, PNG, WebP, AVIF, TIFF or HEIC.

    Returns
    -------
    Picture
        Upright as all eight values of Exif tag 274 ask; 8 bits a channel.

    Raises
    ------
    PhotoRefused
        Over 25 MB or 60 megapixels, not a picture, cut short, or too small to measure.

    Source
    ------
    Exif 2.32 (CIPA DC-008), tags 274 (Orientation) and 41989 (FocalLengthIn35mmFilm).
    """
    if len(data) > MAX_BYTES:
        raise PhotoRefused(gettext_noop("The file is over 25 MB: send the photo in a smaller size."))
    try:
        with warnings.catch_warnings():
            # our own limit on pixels is below the one that Pillow warns at; broken Exif only warns
            warnings.simplefilter("ignore")
            return _decode(data)
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        if isinstance(error, PhotoRefused):
            raise
        raise PhotoRefused(
            gettext_noop("The file cannot be read as a photo: send a JPEG, PNG, WebP or HEIC picture.")
        ) from error


def _decode(data: bytes) -> Picture:
    with Image.open(io.BytesIO(data), formats=FORMATS) as image:
        _check_size(image.size)
        focal = stated_focal(image)
        _restore_orientation(image, data)
        upright = ImageOps.exif_transpose(image).convert("RGB")
    return Picture(np.asarray(upright, dtype=np.uint8), focal)


def _restore_orientation(image: Image.Image, data: bytes) -> None:
    """Put back the Exif orientation of a HEIC picture that nothing has turned yet.

    A HEIC file turns its picture by a box of its own (irot, imir: ISO/IEC 23008-12), which the decoder
    obeys; the decoder then drops the Exif orientation, also where there was no such box.
    """
    stated = image.info.get("original_orientation")
    if stated in range(2, 9) and not any(box in data[: data.find(b"mdat")] for box in (b"irot", b"imir")):
        image.getexif()[ORIENTATION] = stated


def _check_size(size: tuple[int, int]) -> None:
    width, height = size
    if width * height > MAX_PIXELS:
        raise PhotoRefused(
            gettext_noop("The picture has over 60 megapixels: send it in a smaller size."),
        )
    if min(size) < MIN_SIDE:
        raise PhotoRefused(
            gettext_noop("The picture is too small to measure: send the photo as the camera took it.")
        )


def stated_focal(image: Image.Image) -> float | None:
    """Return the focal length for a 35 mm frame from the Exif of `image`, mm, or None.

    A value that is no finite number between 8 and 400 mm is taken as unknown (0 means unknown in
    Exif 2.32, tag 41989).
    """
    value = image.getexif().get_ifd(EXIF_IFD).get(FOCAL_35MM)
    try:
        focal = float(value) if value is not None else math.nan
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return focal if 8 <= focal <= 400 else None
