"""What is shown of a list, on its page and in the shell: how it was read, what would come of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice
from typing import Any

from django.core.paginator import Page, Paginator
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lessons.log.actions.write import Agreed, questions
from lessons.log.around import Understood
from lessons.log.found import Found
from lessons.log.models import ReedLog
from lessons.log.table.rows import Row
from reeds.wording import filled

ROWS_A_PAGE = 25
EXAMPLES = 3


@dataclass(frozen=True)
class WrongShown:
    """What is wrong with a cell or a row, as a sentence."""

    row: int
    heading: str
    sentence: str

    def __str__(self) -> str:
        if self.heading:
            place = _("Row %(row)s, “%(heading)s”: ") % {"row": self.row, "heading": self.heading}
        else:
            place = _("Row %(row)s: ") % {"row": self.row}
        return place + self.sentence


@dataclass(frozen=True)
class ColumnShown:
    """A column of the file: its place, what stands over it, what it is taken for, its first cells."""

    place: int
    heading: str
    taken_for: str
    left_out: bool
    examples: list[str]


@dataclass(frozen=True)
class RowShown:
    """A row as it stands in the file, an empty cell for each that it lacks, and what is wrong with it."""

    number: int
    cells: list[str]
    wrong: list[WrongShown]


class LogPage:
    """One list, for whoever may see it."""

    def __init__(self, log: ReedLog, page: str = "1") -> None:
        self.log, self._asked_page = log, page
        self.understood = Understood(log)
        self.found = Found.from_json(log.found)

    @property
    def said(self) -> list[str]:
        """How the file was read."""
        return [filled(sentence, params) for sentence, params in self.log.said]

    @cached_property
    def _first_rows(self) -> list[Row]:
        return list(islice(self.log.rows(), ROWS_A_PAGE))

    @cached_property
    def columns(self) -> list[ColumnShown]:
        """Every column of the file."""
        return [self._column(place, heading) for place, heading in enumerate(self.log.headings)]

    def _column(self, place: int, heading: str) -> ColumnShown:
        taken = self.understood.taken.get(place)
        cells = [row.cells[place] for row in self._first_rows if place < len(row.cells) and row.cells[place]]
        left_out = taken is None and place not in self.understood.undecided
        name = _(taken.name) if taken else ""
        return ColumnShown(place, heading, name, left_out, [cell[:40] for cell in cells[:EXAMPLES]])

    @property
    def unknown(self) -> list[str]:
        """What stands over columns that nobody decided on."""
        return [self.log.headings[place] or _("(no heading)") for place in self.understood.undecided]

    @property
    def counts(self) -> list[str]:
        """What would come of it, or what came of it."""
        return counted(self.log.made or self.log.found)

    @property
    def remarks(self) -> list[str]:
        """What one should know of how it is taken."""
        found = self.found
        usual = ngettext(
            "Of %(n)s number the list does not say how it was measured, or not so that it fits: "
            "it is taken as measured in the usual way, with the studio's doubt of that.",
            "Of %(n)s numbers the list does not say how they were measured, or not so that it fits: "
            "they are taken as measured in the usual way, with the studio's doubt of that.",
            found.usual,
        )
        stages = ngettext(
            "Of %(n)s reed it does not say how far it is: it is taken to be as far as its numbers are of.",
            "Of %(n)s reeds it does not say how far they are: they are taken to be as far as their "
            "numbers are of.",
            found.stage_taken,
        )
        told = ((usual, found.usual), (stages, found.stage_taken))
        return [sentence % {"n": n} for sentence, n in told if n]

    @cached_property
    def wrong(self) -> list[WrongShown]:
        """What is wrong, the first of it."""
        return [WrongShown(row, head, filled(text, params)) for row, head, text, params in self.found.wrong]

    @property
    def asked(self) -> list[str]:
        """What must be settled before it can be brought in, the boxes to tick left aside."""
        return questions(self.log, Agreed(leave_columns=True, leave_rows=True, again=True))

    @cached_property
    def page(self) -> Page[int]:
        """Which page of its rows is shown."""
        return Paginator(range(self.log.row_count), ROWS_A_PAGE).get_page(self._asked_page)

    @property
    def rows(self) -> list[RowShown]:
        """The rows of that page."""
        start = (self.page.number - 1) * ROWS_A_PAGE
        return [
            RowShown(row.number, self._filled_up(row), [one for one in self.wrong if one.row == row.number])
            for row in islice(self.log.rows(), start, start + ROWS_A_PAGE)
        ]

    def _filled_up(self, row: Row) -> list[str]:
        return [*row.cells, *[""] * (len(self.log.headings) - len(row.cells))]


def counted(of: Mapping[str, Any]) -> list[str]:
    """Return in words how many of what are, or would be, made."""
    n = {name: int(of.get(name, 0)) for name in ("reeds", "added_to", "numbers", "tests", "notes", "lots")}
    told = (
        (n["reeds"], ngettext("%(n)s new reed", "%(n)s new reeds", n["reeds"])),
        (n["added_to"], ngettext("%(n)s reed added to", "%(n)s reeds added to", n["added_to"])),
        (n["numbers"], ngettext("%(n)s number", "%(n)s numbers", n["numbers"])),
        (n["tests"], ngettext("%(n)s playing test", "%(n)s playing tests", n["tests"])),
        (n["notes"], ngettext("%(n)s note", "%(n)s notes", n["notes"])),
        (n["lots"], ngettext("%(n)s lot of cane", "%(n)s lots of cane", n["lots"])),
    )
    return [sentence % {"n": count} for count, sentence in told if count]


def earlier(days: Sequence[dt.date]) -> str:
    """Return the sentence that says when this very file was brought in before, '' if it never was."""
    if not days:
        return ""
    told = ", ".join(day.isoformat() for day in days)
    return _("This very file was brought in before, on %(days)s.") % {"days": told}


def told_in_lines(shown: LogPage) -> list[str]:
    """Return what the page shows of a list that waits, as lines for the shell."""
    left_out, unknown = _("left out"), _("not known")
    columns = [
        f"  {one.heading} → {one.taken_for or (left_out if one.left_out else unknown)}"
        for one in shown.columns
    ]
    return [
        " ".join([f"{shown.log}:", *shown.said]),
        _("Its columns:"),
        *columns,
        _("What would come of it:"),
        *(f"  {one}" for one in shown.counts or [_("nothing")]),
        *shown.remarks,
        *(f"  {one}" for one in shown.wrong),
    ]
