"""THE way in which a picture's bytes become an upright picture, for upload, worker and shell alike.

Decided once, for every door:

formats
    JPEG (with MPO), PNG, WebP, HEIC and AVIF: what phones and browsers make. No TIFF: no phone sends it, and
    it comes in depths and layouts that would each need a decision of their own.
orientation
    Exif tag 274, also where only XMP says it. HEIC and AVIF turn their picture by boxes of their own (irot,
    imir), which the decoders obey; where a HEIC file has none, what its Exif says holds.
depth
    16 bits a channel become 8 by dropping the lower eight: clipping would make nearly all of it white.
colour
    sRGB by the embedded profile; a broken profile leaves the colours as they are.
see-through
    Lies on white, as on paper.
focal length
    8 to 400 mm for a 35 mm frame; anything else, 0 too, is taken as unknown.
size
    At most 25 MB, 60 megapixels, 65,500 px a side; of a JPEG 100 scans, of a PNG 20,000 chunks. A small
    picture may be kept and looked at; who measures asks for 200 px a side (`to_measure`).
damage
    Refused where the file itself tells of it: a PNG by the sums of its chunks, a JPEG where its code stops
    making sense (`whole.py`). WebP, HEIC and AVIF bear no sums: of those is refused what is not decoded.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import re
import struct
import warnings
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import IO, Any

import cv2
import numpy as np
import pillow_heif
from PIL import ExifTags, Image, ImageCms, ImageFile, UnidentifiedImageError

from reeds.photo.vision.arrays import Pixels
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.sampling import other_order
from reeds.photo.vision.taken import (
    AS_NO_CAMERA,
    MAX_BYTES,
    NO_PICTURE,
    TOO_MANY_BYTES,
    TOO_MANY_PIXELS,
    TOO_SMALL,
    believed_focal,
)
from reeds.photo.vision.upright import UprightPicture
from reeds.photo.vision.whole import read_jpeg

MAX_PIXELS = 60_000_000
MAX_SIDE_PX = (
    65_500  # the copies are JPEG, and libjpeg writes no longer ones (jmorecfg.h, JPEG_MAX_DIMENSION)
)
# a progressive JPEG has a dozen; each one more is another pass over all of it, and 2,000 take half a minute
MOST_SCANS = 100
# encoders write 8 KB a chunk or more; two million empty ones in 25 MB take half a minute
MOST_CHUNKS = 20_000
# inside a scan 0xFF is followed by 0, so it stands there nowhere else (ISO/IEC 10918-1, B.1.1.5)
START_OF_SCAN = re.compile(rb"\xff\xda")
PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
MIN_SIDE_PX = 200  # own choice: below, the card's markers have no four pixels a cell
FORMATS = ("JPEG", "PNG", "WEBP", "HEIF", "AVIF")  # MPO is opened by the reader of JPEG
SRGB = ImageCms.createProfile("sRGB")
# Exif 2.32 (CIPA DC-008), tag 274: what sets each orientation upright
TURNS: dict[int, Callable[[Pixels], Any]] = {
    2: lambda pixels: cv2.flip(pixels, 1),
    3: lambda pixels: cv2.rotate(pixels, cv2.ROTATE_180),
    4: lambda pixels: cv2.flip(pixels, 0),
    5: cv2.transpose,
    6: lambda pixels: cv2.rotate(pixels, cv2.ROTATE_90_CLOCKWISE),
    7: lambda pixels: cv2.transpose(cv2.rotate(pixels, cv2.ROTATE_180)),
    8: lambda pixels: cv2.rotate(pixels, cv2.ROTATE_90_COUNTERCLOCKWISE),
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
    RuntimeError,  # libavif
    Image.DecompressionBombError,
)

pillow_heif.register_heif_opener()
# Pillow's own guard must not raise before ours has said its sentence
Image.MAX_IMAGE_PIXELS = None


class PhotoCutShort(PhotoRefused):
    """A picture whose header can be read and whose whole cannot."""


@dataclass(frozen=True)
class DecodedPhoto:
    """An upright picture, and what was read from the file around it, of which no copy gets anything.

    Attributes
    ----------
    bgr : uint8 array, (height, width, 3)
        Upright, sRGB, blue first: the order in which OpenCV encodes the copies.
    format : str
        JPEG, PNG, WEBP, HEIF or AVIF.
    stored_size : (width, height)
        Of the picture as the camera stored it, px.
    orientation : int
        Exif tag 274, 1 to 8; 1 where the file says none that the standard knows.
    taken_at : datetime or None
        With a time zone.
    focal_35mm : float or None
        Focal length for a 35 mm frame, mm.
    """

    bgr: Pixels
    format: str
    stored_size: tuple[int, int]
    orientation: int
    taken_at: dt.datetime | None
    focal_35mm: float | None

    @property
    def rgb(self) -> Pixels:
        """The same, red first: a copy."""
        return other_order(self.bgr)


@contextlib.contextmanager
def opened(stream: IO[bytes]) -> Iterator[Image.Image]:
    """Open a picture by what is in it, whatever its name says; only its header is read.

    Raises
    ------
    PhotoRefused
        Not a picture of a known format, or one of over 60 megapixels or 65,500 px a side.
    """
    stream.seek(0)
    # WeasyPrint, once imported, has Pillow fill up broken files with grey in all of the process
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # odd metadata is no reason to refuse a photo
        try:
            image = Image.open(stream, formats=FORMATS)
        except UNREADABLE:
            raise PhotoRefused(NO_PICTURE) from None
        with image:
            if image.width * image.height > MAX_PIXELS:
                raise PhotoRefused(TOO_MANY_PIXELS)
            if max(image.size) > MAX_SIDE_PX:
                raise PhotoRefused(AS_NO_CAMERA)
            yield image


def decode(data: bytes, zone: dt.tzinfo = dt.UTC) -> DecodedPhoto:
    """Decode a whole photo.

    Parameters
    ----------
    data : bytes
        The file as it came.
    zone : tzinfo
        Where the camera is taken to have been if the file names no offset.

    Raises
    ------
    PhotoRefused
        Over what is taken of size, scans or chunks, or not a picture; PhotoCutShort where a part is missing.

    Source
    ------
    Exif 2.32 (CIPA DC-008), tags 274, 36867, 36881 and 41989; ISO/IEC 23008-12 for irot and imir.
    """
    if len(data) > MAX_BYTES:
        raise PhotoRefused(TOO_MANY_BYTES)
    if data.startswith(b"\xff\xd8") and any(islice(START_OF_SCAN.finditer(data), MOST_SCANS, None)):
        raise PhotoRefused(AS_NO_CAMERA)
    if data.startswith(PNG_SIGNATURE) and not _png_is_whole(data):
        raise PhotoCutShort(NO_PICTURE)
    with opened(io.BytesIO(data)) as image:
        exif = _exif(image)
        stated, turn = _orientations(image, exif, data)
        try:
            stored = _decoded(image, data)
        except UNREADABLE:
            raise PhotoCutShort(NO_PICTURE) from None
        bgr = TURNS[turn](stored) if turn in TURNS else stored
        height, width = bgr.shape[:2]
        return DecodedPhoto(
            bgr=bgr,
            format="JPEG" if image.format == "MPO" else image.format or "",
            stored_size=(height, width) if stated >= 5 else (width, height),
            orientation=stated,
            taken_at=_taken_at(_details(exif), zone),
            focal_35mm=believed_focal(_details(exif).get(ExifTags.Base.FocalLengthIn35mmFilm)),
        )


def _decoded(image: Image.Image, data: bytes) -> Pixels:
    """Return the picture as it is stored, sRGB, blue first; the usual JPEG is decoded once, never copied."""
    if image.format in ("JPEG", "MPO"):
        jpeg = read_jpeg(data, cv2.IMREAD_COLOR_BGR)
        if not jpeg.is_whole:
            raise PhotoCutShort(NO_PICTURE)
        if image.mode == "RGB" and jpeg.pixels is not None:
            if not (profile := image.info.get("icc_profile")):
                return jpeg.pixels
            stored = Image.frombuffer("RGB", jpeg.pixels.shape[1::-1], jpeg.pixels, "raw", "BGR", 0, 1)
            return _blue_first(_to_srgb(stored, profile))
    image.load()
    return _blue_first(_plain(image))


def _blue_first(picture: Image.Image) -> Pixels:
    flat = np.frombuffer(picture.tobytes("raw", "BGR"), np.uint8)
    return flat.reshape(picture.height, picture.width, 3)


def _png_is_whole(data: bytes) -> bool:
    """Whether every chunk bears its own sum: the decoder does not look at those of the pixels.

    Source: W3C PNG (third edition), 5.3 and 5.4.
    """
    start, count = len(PNG_SIGNATURE), 0
    while start + 12 <= len(data):
        count += 1
        if count > MOST_CHUNKS:
            raise PhotoRefused(AS_NO_CAMERA)
        size, kind = struct.unpack_from(">I4s", data, start)
        stop = start + 8 + size
        if data[stop : stop + 4] != zlib.crc32(data[start + 4 : stop]).to_bytes(4, "big"):
            return False
        if kind == b"IEND":
            return True
        start = stop + 4
    return False


def _exif(image: Image.Image) -> Image.Exif:
    try:
        return image.getexif()
    except UNREADABLE:
        return Image.Exif()  # broken metadata, whole picture


def _details(exif: Image.Exif) -> dict[int, object]:
    try:
        return exif.get_ifd(ExifTags.IFD.Exif)
    except UNREADABLE:
        return {}


def _orientations(image: Image.Image, exif: Image.Exif, data: bytes) -> tuple[int, int]:
    """Return the orientation that the file states, and the one that is still to be undone."""
    left = exif.get(ExifTags.Base.Orientation, 1)
    left = left if left in TURNS else 1
    stated = image.info.get("original_orientation")  # the HEIC reader drops it from the Exif
    if image.format != "HEIF" or stated not in TURNS:
        return left, left
    return stated, 1 if _turns_itself(data) else stated


def _turns_itself(data: bytes) -> bool:
    """Tell whether a HEIC file holds boxes that turn or mirror its picture."""
    meta = next((body for kind, body in _boxes(data) if kind == b"meta"), b"")
    return b"irot" in meta or b"imir" in meta


def _boxes(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Yield kind and content of the outermost boxes of a file (ISO/IEC 14496-12, 4.2)."""
    start = 0
    while start + 8 <= len(data):
        size, kind = struct.unpack_from(">I4s", data, start)
        if size == 1 and start + 16 <= len(data):
            (size,) = struct.unpack_from(">Q", data, start + 8)
        stop = start + size if size >= 8 else len(data)  # 0: to the end of the file
        yield kind, data[start + 8 : stop]
        start = stop


def _plain(picture: Image.Image) -> Image.Image:
    """Return the picture as 8-bit sRGB on white."""
    profile = picture.info.get("icc_profile")
    picture = _eight_bit(picture)
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


def read_picture(data: bytes) -> UprightPicture:
    """Decode a photo that is to be measured.

    Parameters
    ----------
    data : bytes
        The file as it came; see `decode` for what is taken.

    Raises
    ------
    PhotoRefused
        As `decode` and `to_measure`.
    """
    decoded = decode(data)
    return to_measure(decoded.rgb, decoded.focal_35mm)


def to_measure(rgb: Pixels, focal_35mm: float | None) -> UprightPicture:
    """Return an upright picture (height, width, 3) as one that is measured.

    Raises
    ------
    PhotoRefused
        If it is under 200 px wide or high.
    """
    if min(rgb.shape[:2]) < MIN_SIDE_PX:
        raise PhotoRefused(TOO_SMALL)
    return UprightPicture(rgb, focal_35mm)
