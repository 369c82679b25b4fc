"""What foretelling is made of: one plain row a reed, with what was known of it at one moment of its life."""

from __future__ import annotations

from typing import NamedTuple


class Told(NamedTuple):
    """A number with its standard uncertainty, in its quantity's unit."""

    value: float
    u: float = 0.0


class Blank(NamedTuple):
    """One reed as it was known before it was scraped; None and '' stand for what nobody noted.

    `reed` and `student` are what the database calls them, `number` is the reed's number as people say it.
    `plays` tells what became of it: it came to play, it was given up scraped, or None: not yet known.
    `tie`, `thread` and `gouge` lie off the aim of its own sheet, mm, longer, farther and thicker being
    positive. `rested_days` runs from tied to scraped, of a blank up to now. `speaks` is the mean over the
    items of its first playing test, 1 to 5, `effort` its effort, 1 to 5, where that test was made after
    scraping and before the reed came to play.
    """

    reed: int
    number: int
    student: int
    plays: bool | None = None
    tie: Told | None = None
    thread: Told | None = None
    gouge: Told | None = None
    airtight: bool | None = None
    shape: str = ""
    flexibility: str = ""
    staple_length: float | None = None
    rested_days: float | None = None
    speaks: float | None = None
    effort: float | None = None
