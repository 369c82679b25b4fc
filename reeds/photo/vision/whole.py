"""Whether the code of a JPEG makes sense up to its end: its decoder would show it as far as it goes.

There is no sum in a JPEG. Where the code stops making sense libjpeg fills up what is left with grey, or
shifts it by whole blocks, by which one would measure wrongly, and warns. A byte that changes the length of no
code leaves blocks too dark or too light, which nobody can tell from a photo's own.
"""

from __future__ import annotations

import contextlib
import os
import re
import threading
from typing import NamedTuple

import cv2
import numpy as np

from reeds.photo.vision.arrays import Pixels

# cameras are known that fill up a scan with so many bytes that mean nothing; own choice, from reports of them
FILLING_BYTES = 20
# libjpeg, jerror.h: JWRN_HIT_MARKER, JWRN_HUFF_BAD_CODE, JWRN_MUST_RESYNC, JWRN_JPEG_EOF and their like
_DAMAGED = re.compile(rb"^(?:Corrupt JPEG data|Premature end of JPEG file)", re.MULTILINE)
_FILLED = re.compile(rb"^Corrupt JPEG data: (\d+) extraneous bytes before marker", re.MULTILINE)
_ALONE = threading.Lock()


class ReadJpeg(NamedTuple):
    """A decoded JPEG.

    Attributes
    ----------
    is_whole : bool
        Whether libjpeg came to its end without meeting what makes no sense.
    pixels : uint8 array, (height, width, 3), or None
        The first picture as it is stored, in the order asked for, without regard to its profile; None where
        OpenCV cannot read it at all, which is no damage: Pillow may.
    """

    is_whole: bool
    pixels: Pixels | None


def read_jpeg(data: bytes, order: int = cv2.IMREAD_COLOR_RGB) -> ReadJpeg:
    """Decode a JPEG, once, and tell whether all of it makes sense.

    Parameters
    ----------
    data : bytes
        The file; its size and scans are bounded before.
    order : int
        Of the colours: OpenCV's IMREAD_COLOR_RGB, or IMREAD_COLOR_BGR for what is encoded again.

    Notes
    -----
    libjpeg goes on after such a place and only says so, once a picture. Pillow does not pass it on; OpenCV
    has it printed. A few bytes too many at the end of a scan are some camera's filling; what comes after
    such a place is not told.

    Source
    ------
    libjpeg, `jerror.h` and `emit_message` of `jerror.c`.
    """
    pixels, said = _decoded(data, order)
    filled = _FILLED.search(said)
    is_whole = int(filled[1]) <= FILLING_BYTES if filled else not _DAMAGED.search(said)
    return ReadJpeg(is_whole, pixels)


def _decoded(data: bytes, order: int) -> tuple[Pixels | None, bytes]:
    """Decode, and catch what is printed: a line or two, which a pipe holds without anybody reading it yet.

    What is printed to is the whole process's: of its threads one at a time may put another in its place.
    """
    reading, writing = os.pipe()
    os.set_blocking(reading, False)  # a process that is started meanwhile holds the other end open as well
    with os.fdopen(reading, "rb") as said, _ALONE:
        kept = os.dup(2)
        try:
            os.dup2(writing, 2)
            os.close(writing)
            pixels = _pixels(data, order)
        finally:
            os.dup2(kept, 2)
            os.close(kept)
        return pixels, said.read() or b""


def _pixels(data: bytes, order: int) -> Pixels | None:
    with contextlib.suppress(cv2.error):
        as_stored = order | cv2.IMREAD_IGNORE_ORIENTATION
        return cv2.imdecode(np.frombuffer(data, np.uint8), as_stored)  # type: ignore[return-value]  # uint8
    return None
