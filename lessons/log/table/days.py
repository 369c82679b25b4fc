"""Days as people write them, 2026-03-04, 4.3.2026 and 3/4/2026: the order decided once a column."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from enum import StrEnum

from reeds.numbers.words import Refused
from reeds.numbers.words import gettext_noop as _

NO_DAY = _("“%(typed)s” is no day. Write it like 2026-03-04.")
NO_SUCH_DAY = _("“%(typed)s” is no day of the calendar.")
WHICH_FIRST = _("“%(typed)s” can be read two ways: say whether the day or the month comes first.")

# a list of reeds older than this is a slip of the finger: own choice
FIRST_YEAR = 1950

When = dt.date | dt.datetime


class DayQuestion(Refused):
    """A text that is no day, or could be two."""


class Order(StrEnum):
    """Which of the first two numbers of a day like 3/4/2026 is the day."""

    DAY_FIRST = "day"
    MONTH_FIRST = "month"
    OPEN = "open"


_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ](\S.*))?")
_DOTS = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4}|\d{2})")
_SLASHES = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})")


def order_of(typed: Iterable[str]) -> Order:
    """Return how a column writes days such as 3/4/2026, from all of its cells.

    A first number over 12 can only be a day, a second over 12 only shows that the month comes first. With
    neither, or with both, it stays open: then a person is asked.
    """
    pairs = [(int(found[1]), int(found[2])) for one in typed if (found := _SLASHES.fullmatch(one.strip()))]
    day_first, month_first = any(one > 12 for one, _two in pairs), any(two > 12 for _one, two in pairs)
    if day_first == month_first:
        return Order.OPEN
    return Order.DAY_FIRST if day_first else Order.MONTH_FIRST


def wants_an_order(typed: str) -> bool:
    """Whether this is written such that one must know which comes first."""
    return _SLASHES.fullmatch(typed.strip()) is not None


def read_when(typed: str, order: Order = Order.OPEN) -> When:
    """Return the day that is written, or the moment where a time of day follows an ISO day.

    Two digits of a year are of this century. A moment has a time zone only if the text has one.

    Raises
    ------
    DayQuestion
        For what is no day, and for one that could be two while the order is open.

    Source
    ------
    ISO 8601-1:2019, 5.2.2.1 (2026-03-04) and 5.4.2 (with a time of day).
    """
    text = typed.strip()
    if found := _ISO.fullmatch(text):
        return _moment(text, typed) if found[4] else _day(typed, found[1], found[2], found[3])
    if found := _DOTS.fullmatch(text):
        return _day(typed, found[3], found[2], found[1])
    found = _SLASHES.fullmatch(text)
    if found is None:
        raise DayQuestion(NO_DAY, typed=typed[:40])
    if order is Order.OPEN:
        raise DayQuestion(WHICH_FIRST, typed=typed[:40])
    day, month = (found[1], found[2]) if order is Order.DAY_FIRST else (found[2], found[1])
    return _day(typed, found[3], month, day)


def _day(typed: str, year: str, month: str, day: str) -> dt.date:
    full = int(year) + (2000 if len(year) == 2 else 0)
    try:
        read = dt.date(full, int(month), int(day))
    except ValueError:
        raise DayQuestion(NO_SUCH_DAY, typed=typed[:40]) from None
    if read.year < FIRST_YEAR:
        raise DayQuestion(NO_SUCH_DAY, typed=typed[:40])
    return read


def _moment(text: str, typed: str) -> dt.datetime:
    try:
        read = dt.datetime.fromisoformat(text)
    except ValueError:
        raise DayQuestion(NO_DAY, typed=typed[:40]) from None
    if read.year < FIRST_YEAR:
        raise DayQuestion(NO_SUCH_DAY, typed=typed[:40])
    return read
