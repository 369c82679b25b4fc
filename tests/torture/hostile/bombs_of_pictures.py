"""Pictures that no camera makes: huge by their header, in depth, in number, or once unpacked."""

import struct
import zlib
from functools import cache, partial

import numpy as np
from PIL import Image

from tests.torture.hostile.boxes import (
    after_start,
    box,
    chunk,
    full,
    header_of_png,
    nested,
    part,
    png,
    riff,
    segment,
)
from tests.torture.hostile.whole import PICTURES, saved, scene

LARGEST = (9000, 6600)  # nearly 60 megapixels, the most that is taken
NOTHING = zlib.compress(b"\0" * 1000)


@cache
def _zeros(megabytes):
    packer = zlib.compressobj(9)
    return b"".join(packer.compress(bytes(1 << 20)) for _ in range(megabytes)) + packer.flush()


def _all_zeros(size, bytes_each=3):
    """So many black pixels, packed, and a little more."""
    return _zeros(size[0] * size[1] * bytes_each // (1 << 20) + 2)


def of_size(jpeg, width, height):
    """The same JPEG with another size in its header."""
    place = next(
        jpeg.index(bytes([0xFF, marker])) for marker in (0xC0, 0xC2) if bytes([0xFF, marker]) in jpeg
    )
    return jpeg[: place + 5] + struct.pack(">HH", height, width) + jpeg[place + 9 :]


def of_scans(count, size=(60, 40)):
    """A progressive JPEG whose last scan stands there again and again."""
    noise = np.random.default_rng(1).integers(0, 255, (size[1], size[0], 3), dtype=np.uint8)
    data = saved(Image.fromarray(noise), "JPEG", progressive=True)
    last = data.rindex(b"\xff\xda")
    return data[:-2] + data[last:-2] * count + data[-2:]


def _flat_of_scans(count, size):
    """A large picture of one colour, whose last scan stands there again and again."""
    data = saved(Image.new("RGB", size, (120, 100, 80)), "JPEG", progressive=True)
    last = data.rindex(b"\xff\xda")
    return data[:-2] + data[last:-2] * count + data[-2:]


def _exif(*entries, following=8):
    """Exif whose directory at 8 has these entries, and names the directory that follows it."""
    rows = b"".join(struct.pack("<HHII", *entry) for entry in entries)
    tiff = b"II*\0" + struct.pack("<IH", 8, len(entries)) + rows + struct.pack("<I", following)
    return segment(0xE1, b"Exif\0\0" + tiff)


def _jpeg():
    return PICTURES["jpeg"]()


def _icc_of_jpeg(pieces, size=65_000):
    each = (segment(0xE2, b"ICC_PROFILE\0" + bytes([n + 1, pieces]) + bytes(size)) for n in range(pieces))
    return after_start(_jpeg(), *each)


def _icc_table(points):
    """A profile whose table of colours says it has so many points a side."""
    table = b"mft2" + bytes(4) + bytes([3, 3, points, 0]) + bytes(36) + struct.pack(">HH", 2, 2) + bytes(64)
    tag = struct.pack(">I4sII", 1, b"A2B0", 144, len(table))
    head = struct.pack(">I4s4s4s4s4s", 144 + len(table), b"lcms", b"\x04\x20\0\0", b"mntr", b"RGB ", b"Lab ")
    profile = head + bytes(12) + b"acsp" + bytes(128 - len(head) - 16) + tag + table
    return saved(scene(), "JPEG", icc_profile=profile)


JPEG = {
    "65,500 px a side by its header": lambda _size: of_size(_jpeg(), 65_500, 65_500),
    "as large as may be by its header": lambda size: of_size(_jpeg(), *size),
    "no pixel": lambda _size: of_size(_jpeg(), 0, 0),
    "lines said at the end": lambda _size: of_size(_jpeg(), 260, 0),
    "2,000 scans": lambda _size: of_scans(2000),
    "95 scans as large as may be": lambda size: _flat_of_scans(85, size),
    "95 scans of 12 megapixels": lambda _size: of_size(of_scans(80), 4000, 3000),
    "directory that follows itself": lambda _size: after_start(_jpeg(), _exif((274, 3, 1, 6))),
    "directory within itself": lambda _size: after_start(
        _jpeg(), _exif((0x8769, 4, 1, 8), (0xA005, 4, 1, 8))
    ),
    "four thousand million values": lambda _size: after_start(_jpeg(), _exif((0x927C, 2, 0xFFFFFFFF, 8))),
    "60,000 entries": lambda _size: after_start(_jpeg(), _exif(*[(0x8769, 4, 1, 8)] * 5000)),
    "offsets beyond": lambda _size: after_start(
        _jpeg(), _exif((0x8769, 4, 1, 0xFFFFFFF0), following=0xFFFFFFFF)
    ),
    "profile of 16 MB": lambda _size: _icc_of_jpeg(255),
    "profile with a table of 255 points": lambda _size: _icc_table(255),
    "profile with a table of 33 points": lambda _size: _icc_table(33),
    "150,000 comments": lambda _size: after_start(_jpeg(), *[segment(0xFE, b"")] * 150_000),
    "megabytes of fill bytes": lambda size: _jpeg()[:2] + b"\xff" * (size[0] * size[1] // 4) + _jpeg()[2:],
    "restart after restart": lambda _size: _jpeg()[:-2] + b"\xff\xd0" * 8_000_000 + _jpeg()[-2:],
    "24 MB behind its end": lambda _size: _jpeg() + bytes(24_000_000),
    "arithmetic coding": lambda _size: _jpeg().replace(b"\xff\xc0", b"\xff\xc9", 1),
    "lossless": lambda _size: _jpeg().replace(b"\xff\xc0", b"\xff\xc3", 1),
    "index of 65,535 pictures": lambda _size: after_start(
        _jpeg(), segment(0xE2, b"MPF\0II*\0" + struct.pack("<IHHHII", 8, 2, 0xB001, 4, 1, 65_535))
    ),
}


def _frames_of_png(count):
    head = header_of_png(64, 64)
    frame = chunk(b"fcTL", struct.pack(">IIIIIHHBB", 0, 64, 64, 0, 0, 1, 100, 0, 0))
    data = chunk(b"IDAT", zlib.compress(bytes(64 * 193)))
    return png(head, chunk(b"acTL", struct.pack(">II", count, 0)), frame, data, *[frame] * count)


PNG = {
    "2,147,483,647 px a side": lambda _size: png(
        header_of_png(2**31 - 1, 2**31 - 1), chunk(b"IDAT", NOTHING)
    ),
    "60,000 px a side": lambda _size: png(header_of_png(60_000, 60_000), chunk(b"IDAT", NOTHING)),
    "no pixel": lambda _size: png(header_of_png(0, 0), chunk(b"IDAT", NOTHING)),
    "as large as may be in 60 KB": lambda size: png(header_of_png(*size), chunk(b"IDAT", _all_zeros(size))),
    "as large as may be of 16 bits": lambda size: png(
        header_of_png(*size, depth=16, colour=6), chunk(b"IDAT", _all_zeros(size, 8))
    ),
    "one line": lambda size: png(header_of_png(size[0] * size[1], 1), chunk(b"IDAT", _all_zeros(size))),
    "one column": lambda size: png(header_of_png(1, size[0] * size[1]), chunk(b"IDAT", _all_zeros(size, 4))),
    "interlaced, as large as may be": lambda size: png(
        header_of_png(*size, interlaced=1), chunk(b"IDAT", _all_zeros(size))
    ),
    "pixels without end": lambda size: png(header_of_png(300, 300), chunk(b"IDAT", _all_zeros(size, 8))),
    "text without end": lambda size: png(
        header_of_png(64, 64), chunk(b"zTXt", b"a\0\0" + _all_zeros(size, 8)), chunk(b"IDAT", NOTHING)
    ),
    "a hundred texts of 1 MB": lambda _size: png(
        header_of_png(64, 64), *[chunk(b"zTXt", b"a\0\0" + _zeros(1)[:-20])] * 100, chunk(b"IDAT", NOTHING)
    ),
    "text in a language, without end": lambda size: png(
        header_of_png(64, 64), chunk(b"iTXt", b"a\0\1\0\0\0" + _all_zeros(size, 8)), chunk(b"IDAT", NOTHING)
    ),
    "profile without end": lambda size: png(
        header_of_png(64, 64), chunk(b"iCCP", b"a\0\0" + _all_zeros(size, 8)), chunk(b"IDAT", NOTHING)
    ),
    "two million empty parts": lambda _size: png(header_of_png(64, 64), chunk(b"tEXt", b"") * 1_900_000),
    "a palette of none": lambda _size: png(header_of_png(64, 64, colour=3), chunk(b"IDAT", NOTHING)),
    "a part that is longer than all": lambda _size: (
        png(header_of_png(64, 64))[:-12] + b"\x7f\xff\xff\xffIDAT"
    ),
    "20,000 frames": lambda _size: _frames_of_png(20_000),
    "a wrong sum": lambda _size: png(header_of_png(64, 64), chunk(b"IDAT", NOTHING, right=False)),
    "the Exif of a loop": lambda _size: png(
        header_of_png(64, 64),
        chunk(b"eXIf", b"II*\0\x08\0\0\0\x01\0\x69\x87\x04\0\1\0\0\0\x08\0\0\0\x08\0\0\0"),
    ),
}


def _extended(width, height, flags, *chunks):
    size = (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    return riff(b"WEBP", part(b"VP8X", bytes([flags, 0, 0, 0]) + size), *chunks)


def _frames_of_webp(count, side):
    one = saved(scene(16, 16), "WEBP", lossless=True)[12:]
    frame = bytes(6) + b"\x0f\0\0\x0f\0\0" + b"\1\0\0\0" + one
    return _extended(side, side, 2, part(b"ANIM", bytes(6)), *[part(b"ANMF", frame)] * count)


def _one(name):
    return PICTURES[name]()[12:]


WEBP = {
    "16,383 px a side, nearly empty": lambda _size: riff(
        b"WEBP", part(b"VP8L", b"\x2f" + struct.pack("<I", 16382 | 16382 << 14) + bytes(40))
    ),
    "a canvas of 16 million px a side": lambda _size: _extended(2**24, 2**24, 0, _one("lossless webp")),
    "a canvas that is not the picture's": lambda _size: _extended(9000, 6600, 0, _one("lossless webp")),
    "20,000 frames": lambda _size: _frames_of_webp(20_000, 16),
    "1,000 frames on a large canvas": lambda size: _frames_of_webp(1000, size[1]),
    "Exif of 20 MB": lambda _size: _extended(
        260, 220, 8, _one("lossless webp"), part(b"EXIF", bytes(20_000_000))
    ),
    "profile of 20 MB": lambda _size: _extended(
        260, 220, 32, part(b"ICCP", bytes(20_000_000)), _one("lossless webp")
    ),
    "a million unknown parts": lambda _size: _extended(260, 220, 0, *[part(b"abcd", b"")] * 1_000_000),
    "longer than it is": lambda _size: PICTURES["webp"]().replace(
        PICTURES["webp"]()[4:8], b"\xf0\xff\xff\xff", 1
    ),
}


def _patched(name, before, after, count=-1):
    data = PICTURES[name]()
    if before not in data:
        raise AssertionError(f"{name} holds no {before!r}")
    return data.replace(before, after, count)


def _ispe(width, height):
    return b"ispe\0\0\0\0" + struct.pack(">II", width, height)


def _of_heic_size(name, width, height):
    data = PICTURES[name]()
    place = data.index(b"ispe") + 8
    return data[:place] + struct.pack(">II", width, height) + data[place + 8 :]


BRANDS = box(b"ftyp", b"heic\0\0\0\0mif1heic")


def _heic(*parts):
    handler = full(b"hdlr", bytes(4), b"pict", bytes(13))
    return BRANDS + full(b"meta", handler, *parts)


def _derived(kind, references, items=3):
    """A picture made of pictures that are made of it."""
    entries = b"".join(
        full(b"infe", struct.pack(">HH", n + 1, 0), kind, b"\0", version=2) for n in range(items)
    )
    refer = b"".join(box(b"dimg", struct.pack(">HHH", a, 1, b)) for a, b in references)
    places = b"".join(struct.pack(">HHHHII", n + 1, 1, 0, 1, 0, 8) for n in range(items))
    return _heic(
        full(b"pitm", struct.pack(">H", 1)),
        full(b"iinf", struct.pack(">H", items), entries),
        full(b"iref", refer),
        full(b"iloc", b"\x44\0", struct.pack(">H", items), places, version=1),
        full(b"iprp", box(b"ipco", box(*(b"ispe", bytes(4) + struct.pack(">II", 64, 64))))),
        box(b"idat", b"\0\x00\xff\xff" + struct.pack(">HH", 60000, 60000)),
    )


HEIC = {
    "a billion px a side": lambda _size: _of_heic_size("heic", 10**9, 10**9),
    "as large as may be by its header": lambda size: _of_heic_size("heic", *size),
    "no pixel": lambda _size: _of_heic_size("heic", 0, 0),
    "AVIF of a billion px a side": lambda _size: _of_heic_size("avif", 10**9, 10**9),
    "AVIF as large as may be by its header": lambda size: _of_heic_size("avif", *size),
    "100,000 boxes in each other": lambda _size: BRANDS + nested(b"meta", 100_000),
    "100,000 boxes of properties": lambda _size: _heic(full(b"iprp", nested(b"ipco", 100_000))),
    "two million boxes": lambda _size: _heic(box(b"free", b"") * 2_000_000),
    "two million kinds": lambda _size: box(b"ftyp", b"heic\0\0\0\0", b"mif1" * 2_000_000),
    "a picture derived from itself": lambda _size: _derived(b"iden", [(1, 1)]),
    "pictures derived in a ring": lambda _size: _derived(b"iden", [(1, 2), (2, 3), (3, 1)]),
    "a grid of 65,536 pieces": lambda _size: _derived(b"grid", [(1, 2)]),
    "a grid within itself": lambda _size: _derived(b"grid", [(1, 1), (2, 1), (3, 2)]),
    "places beyond its end": lambda _size: _patched("heic", b"iloc", b"iloc")[:-2000],
    "a box of no length": lambda _size: BRANDS + b"\0\0\0\0meta" + bytes(1000),
    "a box of 2^63 bytes": lambda _size: BRANDS + b"\0\0\0\1meta" + b"\x7f" + b"\xff" * 7 + bytes(1000),
}


def _animated_gif(_size, count=2000):
    frames = [Image.new("L", (40, 40), n * 37 % 256) for n in range(count)]
    return saved(frames[0], "GIF", save_all=True, append_images=frames[1:])


def _many_pages(_size):
    """A TIFF whose directories name each other in a ring."""
    rows = b"".join(struct.pack("<HHII", tag, 3, 1, 64) for tag in (256, 257))
    first = struct.pack("<H", 2) + rows + struct.pack("<I", 8 + 30)
    second = struct.pack("<H", 2) + rows + struct.pack("<I", 8)
    return b"II*\0" + struct.pack("<I", 8) + first + second


def _saved_as(format):
    return lambda _size: saved(scene(64, 64).convert("RGB"), format)


OTHERS = {
    "GIF of 2,000 frames": _animated_gif,
    "TIFF of pages in a ring": _many_pages,
    "TIFF": _saved_as("TIFF"),
    "BMP": _saved_as("BMP"),
    "ICO": _saved_as("ICO"),
    "JPEG 2000 or PPM": _saved_as("PPM"),
    "PDF": _saved_as("PDF"),
    "EPS that runs a program": lambda _size: (
        b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n(%pipe%id) (r) file\n"
    ),
    "SVG with an entity": lambda _size: (
        b"<!DOCTYPE svg [<!ENTITY x SYSTEM 'file:///etc/hostname'>]><svg>&x;</svg>"
    ),
    "XML that swells": lambda _size: (
        b"<!DOCTYPE a ["
        + b"".join(b'<!ENTITY e%d "%s">' % (n, b"&e%d;" % (n - 1) * 10 if n else b"x") for n in range(12))
        + b"]><svg>&e11;</svg>"
    ),
    "PSD": lambda _size: b"8BPS\0\1" + bytes(6) + struct.pack(">HIIHH", 3, 30000, 30000, 8, 3) + bytes(64),
    "nothing but zeros": lambda _size: bytes(1_000_000),
    "one byte": lambda _size: b"\xff",
    "a recording": lambda _size: b"RIFF\x24\0\0\0WAVEfmt " + bytes(24),
    "a zip": lambda _size: b"PK\3\4" + bytes(1000),
}


def bombs(size=LARGEST):
    """Return what makes each, by its name; the largest have this size in px."""
    groups = {"JPEG": JPEG, "PNG": PNG, "WebP": WEBP, "HEIC": HEIC, "other": OTHERS}
    return {
        f"{group}: {name}": partial(made, size)
        for group, all_of in groups.items()
        for name, made in all_of.items()
    }
