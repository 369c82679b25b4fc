"""Entries as RFC 5545 has them, read back by icalendar."""

from __future__ import annotations

import datetime as dt
import zoneinfo

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.calendar.ics import Entry, written

NOW = dt.datetime(2026, 3, 2, 12, tzinfo=dt.UTC)
BERLIN = zoneinfo.ZoneInfo("Europe/Berlin")
ADDRESS = "https://reeds.example/studio/1/lessons/5/"


def entry(at, title="Lesson", **more):
    return Entry("lesson-5", at, title, ADDRESS, **more)


def read(*entries, name="Reeds"):
    return icalendar.Calendar.from_ical(written(entries, name, "reeds.example", NOW))


def only(*entries):
    (event,) = read(*entries).events
    return event


def test_a_lesson_comes_back_as_it_was():
    at = dt.datetime(2026, 3, 5, 15, 30, tzinfo=BERLIN)
    event = only(entry(at, "Lesson with Ida, Per; and \\ others", takes_time=True))
    assert event["DTSTART"].dt == at
    assert event["SUMMARY"] == "Lesson with Ida, Per; and \\ others"
    assert event["URL"] == ADDRESS
    assert event["UID"] == "lesson-5@reeds.example"
    assert event["DTSTAMP"].dt == NOW
    assert (event["CLASS"], event["TRANSP"]) == ("PRIVATE", "OPAQUE")


def test_a_whole_day_is_a_day_and_takes_no_time():
    event = only(entry(dt.date(2026, 3, 29), "3 reeds due"))
    assert event["DTSTART"].to_ical() == b"20260329"
    assert event["DTSTART"].params["VALUE"] == "DATE"
    assert event["TRANSP"] == "TRANSPARENT"


@pytest.mark.parametrize(
    ("clock", "fold", "utc"),
    [
        ("2026-03-29T01:30", 0, "20260329T003000Z"),  # before clocks are put forward
        ("2026-03-29T03:30", 0, "20260329T013000Z"),  # an hour later
        ("2026-10-25T02:30", 0, "20261025T003000Z"),  # the first half past two
        ("2026-10-25T02:30", 1, "20261025T013000Z"),  # the second
    ],
)
def test_clocks_put_forward_or_back_move_no_lesson(clock, fold, utc):
    local = dt.datetime.fromisoformat(clock).replace(tzinfo=BERLIN, fold=fold)
    event = only(entry(local))
    assert event["DTSTART"].to_ical().decode() == utc


def test_a_moment_without_a_time_zone_is_refused():
    with pytest.raises(ValueError, match="time zone"):
        read(entry(NOW.replace(tzinfo=None)))


def test_an_empty_calendar_is_one_still():
    calendar = read(name="Reeds, Björk’s studio")
    assert calendar.events == []
    assert calendar["PRODID"]
    assert calendar["VERSION"] == "2.0"
    # RFC 5545, 3.3.11: a comma in a text is escaped
    name = "Reeds\\, Björk’s studio"
    assert {f"NAME:{name}", f"X-WR-CALNAME:{name}"} <= set(calendar.to_ical().decode().splitlines())
    assert calendar["REFRESH-INTERVAL"].dt == dt.timedelta(hours=6)


@given(st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=200))
def test_lines_are_folded_at_75_octets_and_no_letter_is_cut(title):
    """RFC 5545, 3.1: lines of at most 75 octets without the break; what was folded is whole again."""
    data = written([entry(NOW, title)], title, "reeds.example", NOW)
    lines = data.split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 for line in lines)
    assert b"\n" not in data.replace(b"\r\n", b"")
    for line in lines:
        line.decode()  # each is whole letters
    (event,) = icalendar.Calendar.from_ical(data).events
    assert event["SUMMARY"] == title


@pytest.mark.parametrize("title", ["Ida\nBEGIN:VEVENT", "Ida\r\nATTACH:x", "Ida\rX:y"])
def test_a_title_with_a_line_break_begins_no_line_of_its_own(title):
    lines = written([entry(NOW, title)], title, "reeds.example", NOW).splitlines()
    assert lines.count(b"BEGIN:VEVENT") == 1
    assert not any(line.startswith((b"ATTACH", b"X:y")) for line in lines)
