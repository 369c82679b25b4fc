"""Which kind of picture a file says it is by its first bytes; nothing of it is opened."""

from __future__ import annotations

# no picture of any of them is shorter
HEAD_BYTES = 64
SHORTEST_BYTES = 20
JPEG, PNG = b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n"
# brands of still pictures and of their sequences: ISO/IEC 23008-12, annex B and clause 10; AVIF 1.1, clause 6
HEIC_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs"}
AVIF_BRANDS = {b"avif", b"avis"}
EITHER = {b"mif1", b"msf1"}


def extension_of(head: bytes) -> str:
    """Return the usual extension of the file's kind, '' for one that is not taken.

    Parameters
    ----------
    head : bytes
        The first 64 bytes, or all of a shorter file.

    Source
    ------
    ISO/IEC 10918-1, B.1.1.3; PNG (third edition), 5.2; RFC 9649, 2.4; ISO/IEC 14496-12, 4.3.
    """
    if len(head) < SHORTEST_BYTES:
        return ""
    if head.startswith(JPEG):
        return ".jpg"
    if head.startswith(PNG):
        return ".png"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return ".webp"
    return _by_brand(head) if head[4:8] == b"ftyp" else ""


def _by_brand(head: bytes) -> str:
    """Return the extension by a file's first brand, where that says too little by the others."""
    size = min(int.from_bytes(head[:4], "big"), len(head))
    first, others = head[8:12], {head[at : at + 4] for at in range(16, size - 3, 4)}
    named = {first} if first not in EITHER else others
    if named & AVIF_BRANDS:
        return ".avif"
    return ".heic" if named & HEIC_BRANDS or first in EITHER else ""
