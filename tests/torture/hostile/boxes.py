"""The few building blocks of containers that bombs are made of."""

import struct
import zlib

from tests.torture.hostile.damage import PNG_BEGINS


def box(kind, *parts):
    """A box of an MP4 or HEIC file (ISO/IEC 14496-12, 4.2)."""
    body = b"".join(parts)
    return struct.pack(">I", 8 + len(body)) + kind + body


def full(kind, *parts, version=0, flags=0):
    """A box with version and flags."""
    return box(kind, struct.pack(">I", version << 24 | flags), *parts)


def nested(kind, depth):
    """Boxes each in the one before."""
    sizes = (8 * (depth - place) for place in range(depth))
    return b"".join(struct.pack(">I", size) + kind for size in sizes)


def chunk(kind, data, right=True):
    """A chunk of a PNG; without its right sum if told so."""
    return (
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data) ^ (not right))
    )


def header_of_png(width, height, depth=8, colour=2, interlaced=0):
    return chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, interlaced))


def png(*chunks):
    return PNG_BEGINS + b"".join(chunks) + chunk(b"IEND", b"")


def riff(kind, *chunks):
    """A RIFF file: WebP or WAV."""
    body = kind + b"".join(chunks)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def part(kind, data):
    """A chunk of a RIFF file."""
    return kind + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2)


def segment(marker, data):
    """A segment of a JPEG."""
    return bytes([0xFF, marker]) + struct.pack(">H", len(data) + 2) + data


def after_start(jpeg, *segments):
    """A JPEG with more segments before all others."""
    return jpeg[:2] + b"".join(segments) + jpeg[2:]


def element(number, data, size=None):
    """An element of a WebM file; its size may be stated wrongly."""
    stated = len(data) if size is None else size
    return bytes.fromhex(number) + struct.pack(">Q", 1 << 56 | stated) + data
