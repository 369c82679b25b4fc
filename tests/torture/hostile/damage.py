"""What the way, a broken card or somebody with time makes of a whole file; the same seed, the same damage."""

import struct
import zlib

import numpy as np

PNG_BEGINS = b"\x89PNG\r\n\x1a\n"
HEADER = 600


def flipped(data, rng):
    """One to thirty bytes changed: in the header, or anywhere."""
    out = bytearray(data)
    within = min(len(out), HEADER) if rng.integers(2) else len(out)
    for place in rng.integers(0, within, int(rng.choice([1, 3, 30]))):
        out[place] ^= int(rng.integers(1, 256))
    return bytes(out)


def cut(data, rng):
    """Its end is missing, or a part of its middle."""
    start, stop = sorted(int(place) for place in rng.integers(1, len(data), 2))
    return data[:start] if rng.integers(2) else data[:start] + data[stop:]


def spliced(data, rng, others):
    """The beginning of one file before the rest of another, a part twice, or a part all of one byte."""
    start, stop = sorted(int(place) for place in rng.integers(1, len(data), 2))
    turn = int(rng.integers(3))
    if turn == 0:
        other = others[int(rng.integers(len(others)))]
        return data[:start] + other[min(start, len(other) // 2) :]
    if turn == 1:
        return data[:stop] + data[start:]
    return data[:start] + bytes([int(rng.choice([0, 255]))]) * (stop - start) + data[stop:]


def mended_png(data):
    """The sums of every chunk set right: a damage that no sum tells of."""
    out, start = bytearray(data), len(PNG_BEGINS)
    while start + 12 <= len(out):
        (size,) = struct.unpack_from(">I", out, start)
        stop = start + 8 + size
        if stop + 4 > len(out):
            break
        struct.pack_into(">I", out, stop, zlib.crc32(out[start + 4 : stop]))
        start = stop + 4
    return bytes(out)


def _sums_of_ogg():
    """The table of the sum that Ogg takes: RFC 3533, 6, polynomial 0x04c11db7, no reflection."""
    for value in range(256):
        rest = value << 24
        for _bit in range(8):
            rest = (rest << 1 ^ 0x04C11DB7 if rest & 1 << 31 else rest << 1) & 0xFFFFFFFF
        yield rest


OGG_SUMS = list(_sums_of_ogg())


def mended_ogg(data):
    """The sum of every page set right, as far as pages can be told."""
    out, start = bytearray(data), 0
    while out[start : start + 4] == b"OggS" and start + 27 <= len(out):
        sizes = out[start + 27 : start + 27 + out[start + 26]]
        stop = min(len(out), start + 27 + len(sizes) + sum(sizes))
        out[start + 22 : start + 26] = bytes(4)
        rest = 0
        for byte in out[start:stop]:
            rest = (rest << 8 & 0xFFFFFFFF) ^ OGG_SUMS[rest >> 24 ^ byte]
        struct.pack_into("<I", out, start + 22, rest)
        start = stop
    return bytes(out)


MENDED = {"png": mended_png, "ogg": mended_ogg}


def damaged(kind, data, others, flips, more, seed=1):
    """Yield names and bytes: so many with bytes flipped, and so many more each cut and spliced."""
    for turn in range(flips + 2 * more):
        rng = np.random.default_rng([seed, zlib.crc32(kind.encode()), turn])
        if turn < flips:
            made = flipped(data, rng)
            mend = MENDED.get(kind)
            yield f"{kind}, flipped {turn}", mend(made) if mend and turn % 2 else made
        elif turn < flips + more:
            yield f"{kind}, cut {turn}", cut(data, rng)
        else:
            yield f"{kind}, spliced {turn}", spliced(data, rng, others)
