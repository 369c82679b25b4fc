"""The description of an export that people read."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from lessons.export.packing.descriptor import path_of
from lessons.export.packing.shapes import Column, Kind, Shape
from reeds.numbers.words import gettext_noop as _

Translate = Callable[[str], str]

ABOUT = _("What is in here")
HOW = _("How it is written")
TABLES = _("The tables and their columns")
LEFT_OUT = _("What is not in here, and why")
ROWS = _("rows")
ONLY_JSON = _("in the JSON only")
CAN_BE = _("one of:")

FILES = (
    _("csv/ holds one table a file, to open with a spreadsheet."),
    _("json/ holds the same tables for programs, and with them what is too deep for a spreadsheet."),
    _("marks.json holds the notes on photos and recordings, as W3C Web Annotations."),
    _("datapackage.json describes the tables of csv/ to programs (Frictionless Data Package, Table Schema)."),
)
WITH_PICTURES = _("photos/, takes/, voices/ and demonstrations/ hold the files as the studio keeps them.")
WITHOUT_PICTURES = _("Photos and recordings were left out, as was asked for; their tables are here.")
WRITING = (
    _("Text is UTF-8. A CSV begins with a byte order mark, so that spreadsheets show every letter as it is."),
    _("Cells are parted by commas, rows end with CR LF, quotes stand around what needs them (RFC 4180)."),
    _("Numbers have a decimal point. An empty cell means: not noted."),
    _("Moments are written with the studio's clock and its distance from UTC, as 2026-03-02T15:00:00+01:00."),
    _("u is the standard uncertainty of a number (k = 1): twice it to each side holds about 95 %."),
    _(
        "A text that begins with = + - @ or an invisible sign has an apostrophe (') before it, so that no"
        " spreadsheet runs it as a formula. To undo it, take the first apostrophe off wherever apostrophes"
        " are followed by one of these signs; what is imported here again is undone by itself. Numbers have"
        " none, nor has anything in the JSON."
    ),
    _("To bring reeds in again, in this studio or another: reeds.csv first, then numbers.csv and noted.csv."),
    _("id is the row's own number; a column that ends in _id leads to the id of another table."),
)


@dataclass(frozen=True)
class Held:
    """What an export holds.

    Attributes
    ----------
    title : str
        Whose it is, of what and when, ready to be read.
    tables : sequence of (Shape, int)
        Each table and how many rows it has.
    pictures : bool
        Whether photos and recordings are in it.
    missing : sequence of str
        Paths of files that were to be in it and were not there.
    reasons : mapping of str to str
        What is not in it, and marked sentences that say why.
    """

    title: str
    tables: Sequence[tuple[Shape, int]]
    pictures: bool
    missing: Sequence[str]
    reasons: Mapping[str, str]


MISSING = _("These files were not there any more when the export was made:")


def readme(held: Held, translate: Translate = str) -> str:
    """Return the text of README.txt, lines ended by CR LF as the plainest editor wants them."""
    files = (*FILES, WITH_PICTURES if held.pictures else WITHOUT_PICTURES)
    parts = [
        held.title,
        _part(translate(ABOUT), [translate(line) for line in files]),
        _part(translate(HOW), [translate(line) for line in WRITING]),
        _part(translate(TABLES), []),
        *(_table(shape, count, translate) for shape, count in held.tables),
        _part(translate(LEFT_OUT), [f"{what}: {translate(why)}" for what, why in held.reasons.items()]),
        *([_part(translate(MISSING), held.missing)] if held.missing else []),
    ]
    return "\n\n".join(parts).replace("\n", "\r\n") + "\r\n"


def _part(heading: str, lines: Sequence[str]) -> str:
    return "\n".join([heading, "=" * len(heading), *(f"- {line}" for line in lines)])


def _table(shape: Shape, count: int, translate: Translate) -> str:
    head = f"{path_of(shape)} ({count} {translate(ROWS)})"
    rows = (f"  {column.name}: {_said(column, translate)}" for column in shape.columns)
    return "\n".join([head, translate(shape.said), *rows])


def _said(column: Column, translate: Translate) -> str:
    said = translate(column.said)
    if column.unit:
        said += f" [{column.unit}]"
    if column.kind is Kind.NESTED:
        said += f" ({translate(ONLY_JSON)})"
    if column.words:
        words = (f"{word} = {translate(label)}" if label else word for word, label in column.words)
        said += f"; {translate(CAN_BE)} {', '.join(words)}"
    return said
