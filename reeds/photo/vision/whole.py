"""Whether the file of a picture is as it was written: what its decoder would show as far as it goes.

Decided for each format:

PNG
    Every chunk bears a sum; one that is wrong, or no end, and the file is refused.
JPEG
    There is no sum. Where the code stops making sense libjpeg warns and fills up what is left with grey, or
    shifts it by whole blocks, by which one would measure wrongly: refused. A byte that changes no length of
    a code leaves a block too dark or too light and is not found, as nobody could.
WebP, HEIC, AVIF
    No sums either, and their decoders never warn: refused is what they do not decode.
"""

from __future__ import annotations

import contextlib
import os
import re
import struct
import zlib

import cv2
import numpy as np

from reeds.photo.vision.refusal import AS_NO_CAMERA, PhotoRefused

# encoders write 8 KB a chunk or more; two million empty ones in 25 MB take half a minute
MOST_CHUNKS = 20_000
PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
# cameras are known that fill up a scan with so many bytes that mean nothing; own choice, from reports of them
FILLING_BYTES = 20
# libjpeg, jerror.h: JWRN_HIT_MARKER, JWRN_HUFF_BAD_CODE, JWRN_MUST_RESYNC, JWRN_JPEG_EOF and their like
_DAMAGED = re.compile(rb"^(?:Corrupt JPEG data|Premature end of JPEG file)", re.MULTILINE)
_FILLED = re.compile(rb"^Corrupt JPEG data: (\d+) extraneous bytes before marker", re.MULTILINE)
# all of the file is read, an eighth of each side is computed
_QUICKLY = cv2.IMREAD_REDUCED_GRAYSCALE_8 | cv2.IMREAD_IGNORE_ORIENTATION


def png_is_whole(data: bytes) -> bool:
    """Whether every chunk bears its own sum: the decoder does not look at those of the pixels.

    Parameters
    ----------
    data : bytes
        The file.

    Raises
    ------
    PhotoRefused
        Of over 20,000 chunks.

    Source
    ------
    W3C PNG (third edition), 5.3 and 5.4.
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


def jpeg_is_whole(data: bytes) -> bool:
    """Whether libjpeg reads all of the first picture without meeting what makes no sense.

    Parameters
    ----------
    data : bytes
        The file; its size and scans are bounded before.

    Notes
    -----
    libjpeg goes on after such a place and only says so, once a picture. Pillow does not pass it on; OpenCV
    has it printed. A few bytes too many at the end of a scan are some camera's filling; what comes after
    such a place is not told.

    Source
    ------
    libjpeg, `jerror.h` and `emit_message` of `jerror.c`.
    """
    said = _said_of(data)
    filled = _FILLED.search(said)
    return int(filled[1]) <= FILLING_BYTES if filled else not _DAMAGED.search(said)


def _said_of(data: bytes) -> bytes:
    """Return what the decoder prints: a line or two, which a pipe holds without anybody reading it yet."""
    reading, writing = os.pipe()
    kept = os.dup(2)
    try:
        os.dup2(writing, 2)
        os.close(writing)
        _decode(data)
    finally:
        os.dup2(kept, 2)  # the last that held the pipe open for writing
        os.close(kept)
    with os.fdopen(reading, "rb") as said:
        return said.read()


def _decode(data: bytes) -> None:
    with contextlib.suppress(cv2.error):  # what it cannot read at all is Pillow's to say
        cv2.imdecode(np.frombuffer(data, np.uint8), _QUICKLY)
