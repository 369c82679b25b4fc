"""Entries of a calendar written as RFC 5545 has them.

Moments are written in UTC: an instant is the same wherever it is read, and no clock that is put forward or
back between writing and reading can move it. Days are written as days.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from icalendar import Event

PRODID = "-//reed-studio//calendar 1//EN"
# how often it is worth asking again
AGAIN = dt.timedelta(hours=6)


@dataclass(frozen=True)
class Entry:
    """One thing in a calendar.

    Attributes
    ----------
    key : str
        What tells it from all others of the site, lasting: by it a calendar knows it again when it moved.
    at : datetime or date
        An instant with its time zone, or a whole day.
    title : str
        What stands there; it may be seen by anybody who looks at the phone.
    address : str
        Where to read more, for those who can sign in.
    takes_time : bool
        Whether its time is taken by it: a lesson's is, a day by which something is due is not.
    """

    key: str
    at: dt.datetime | dt.date
    title: str
    address: str
    takes_time: bool = False


def written(entries: Iterable[Entry], name: str, host: str, now: dt.datetime) -> bytes:
    """Return a calendar of the entries, UTF-8, lines folded at 75 octets, ended by CR LF.

    name    of the calendar, as the reader's list of calendars shows it
    host    of the site: with an entry's key it makes a name that is nobody else's (RFC 5545, 3.8.4.7)
    now     with its time zone; stands as the time at which the entries were said (3.8.7.2)
    raises  ValueError for an instant without a time zone

    Source: RFC 5545 (2009); name and the time after which to ask again: RFC 7986 (2016), 5.1 and 5.7.
    """
    from icalendar import Calendar, vText  # slow to import, and few answers are calendars

    calendar = Calendar()
    calendar.add("prodid", PRODID)
    calendar.add("version", "2.0")
    calendar.add("name", vText(name))
    calendar.add("x-wr-calname", vText(name))  # what most readers look at still
    calendar.add("refresh-interval", AGAIN, parameters={"VALUE": "DURATION"})
    for entry in entries:
        calendar.add_component(_event(entry, host, now))
    return bytes(calendar.to_ical())


def _event(entry: Entry, host: str, now: dt.datetime) -> Event:
    from icalendar import Event

    event = Event()
    event.add("uid", f"{entry.key}@{host}")
    event.add("dtstamp", now.astimezone(dt.UTC))
    event.add("dtstart", _in_utc(entry.at))
    event.add("summary", entry.title)
    event.add("url", entry.address)
    event.add("class", "PRIVATE")
    event.add("transp", "OPAQUE" if entry.takes_time else "TRANSPARENT")
    return event


def _in_utc(at: dt.datetime | dt.date) -> dt.datetime | dt.date:
    if not isinstance(at, dt.datetime):
        return at
    if at.tzinfo is None:
        raise ValueError("A moment of a calendar needs its time zone.")
    return at.astimezone(dt.UTC)
