"""The part of a file that a player asks for; a phone's player asks for two bytes first, or does not play."""

from __future__ import annotations

import re

# one range of bytes; several at once may be answered with the whole (RFC 9110, 14.2)
_RANGE = re.compile(r"bytes=(\d*)-(\d*)", re.ASCII)
_MOST_DIGITS = 18


class NoSuchPart(ValueError):
    """A range that lies behind the end of the file."""


def part_asked(header: str, size: int) -> tuple[int, int] | None:
    """Return first and last byte of the part asked for, or None where the whole is to be sent.

    header  the value of Range, '' for none
    size    of the file, bytes
    raises  NoSuchPart if the range begins behind the end, or asks for the last 0 bytes
    source  RFC 9110, 14.1.2 and 14.2
    """
    found = _RANGE.fullmatch(header.strip())
    if found is None or max(map(len, found.groups())) > _MOST_DIGITS or found.groups() == ("", ""):
        return None
    first, last = found.groups()
    if not first:
        return _tail(int(last), size)
    start, end = int(first), int(last) if last else size - 1
    if last and end < start:
        return None  # not a range at all: ignored
    if start >= size:
        raise NoSuchPart
    return start, min(end, size - 1)


def _tail(count: int, size: int) -> tuple[int, int]:
    if not count or not size:
        raise NoSuchPart
    return max(0, size - count), size - 1
