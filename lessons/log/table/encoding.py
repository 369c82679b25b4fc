"""The bytes of a text file as text: by its mark, else UTF-8, else Windows-1252, which is then said."""

from __future__ import annotations

import codecs
import re

from lessons.log.table.rows import Said, TableRefused
from reeds.numbers.words import gettext_noop as _

NO_TEXT = _("This file is no table of text. Save the list as CSV or XLSX.")
NOT_WHOLE = _(
    "This file says that it is %(encoding)s and does not hold together as such. Save it anew as CSV."
)
READ_AS = _("Read as %(encoding)s.")
FELL_BACK = _(
    "It is not UTF-8, so it was read as Windows-1252, as older programs write in Western Europe and America. "
    "Look whether names with accents are right."
)

_MARKS = ((codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))
_NAMES = {"utf-8": "UTF-8", "utf-16-le": "UTF-16", "utf-16-be": "UTF-16"}
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f]")
_LOOKED_AT = 4096


def decoded(data: bytes) -> tuple[str, list[Said]]:
    """Return the text of a file without its byte order mark, and what there is to say of it.

    UTF-16 without a mark is known by every other byte being zero, as it is in text that is mostly Latin.

    Raises
    ------
    TableRefused
        For bytes that are no text in the encoding they claim, and for control characters no text has.

    Source
    ------
    The Unicode Standard, 23.8 (byte order mark); Windows-1252 as Python's cp1252, five bytes undefined.
    """
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return _text(data[len(mark) :], encoding), [Said(READ_AS, {"encoding": _NAMES[encoding]})]
    if half := _silent_half(data[:_LOOKED_AT]):
        return _text(data, half), [Said(READ_AS, {"encoding": _NAMES[half]})]
    try:
        return _clean(data.decode("utf-8")), []
    except UnicodeDecodeError:
        return _text(data, "cp1252"), [Said(FELL_BACK, {})]


def _silent_half(data: bytes) -> str:
    """Which UTF-16 leaves so many zeros; '' for neither."""
    even, odd = data[::2].count(0), data[1::2].count(0)
    enough = len(data) // 4
    if len(data) < 4 or max(even, odd) <= enough or min(even, odd) * 10 > max(even, odd):
        return ""
    return "utf-16-le" if odd > even else "utf-16-be"


def _text(data: bytes, encoding: str) -> str:
    try:
        return _clean(data.decode(encoding))
    except UnicodeDecodeError:
        if encoding == "cp1252":
            raise TableRefused(NO_TEXT) from None
        raise TableRefused(NOT_WHOLE, encoding=_NAMES[encoding]) from None


def _clean(text: str) -> str:
    if _CONTROL.search(text):
        raise TableRefused(NO_TEXT)
    return text
