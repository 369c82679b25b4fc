"""Whether the code of a JPEG makes sense up to its end: its decoder would show it as far as it goes.

There is no sum in a JPEG. Where the code stops making sense libjpeg fills up what is left with grey, or
shifts it by whole blocks, by which one would measure wrongly, and warns. A byte that changes the length of no
code leaves blocks too dark or too light, which nobody can tell from a photo's own.
"""

from __future__ import annotations

import contextlib
import os
import re

import cv2
import numpy as np

# cameras are known that fill up a scan with so many bytes that mean nothing; own choice, from reports of them
FILLING_BYTES = 20
# libjpeg, jerror.h: JWRN_HIT_MARKER, JWRN_HUFF_BAD_CODE, JWRN_MUST_RESYNC, JWRN_JPEG_EOF and their like
_DAMAGED = re.compile(rb"^(?:Corrupt JPEG data|Premature end of JPEG file)", re.MULTILINE)
_FILLED = re.compile(rb"^Corrupt JPEG data: (\d+) extraneous bytes before marker", re.MULTILINE)
# all of the file is read, an eighth of each side is computed
_QUICKLY = cv2.IMREAD_REDUCED_GRAYSCALE_8 | cv2.IMREAD_IGNORE_ORIENTATION


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
