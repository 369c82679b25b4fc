"""One cell read as what its column is: a text, a whole number, a day, a number, a word, a grade."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from lessons.log.table.columns import Column, Kind, word_of
from lessons.log.table.days import Order, When, read_when
from reeds.numbers.entry import read_number
from reeds.numbers.guard import unguarded
from reeds.numbers.words import Refused
from reeds.numbers.words import gettext_noop as _

TOO_LONG = _("It has more than %(most)s characters.")
NO_WHOLE = _("“%(typed)s” is no number of a reed: digits only, from 1.")
NO_WORD = _("“%(typed)s” is none of: %(offered)s.")
MANY_WORDS = _("“%(typed)s” is none of the words that are known here.")

LARGEST = 2_147_483_647  # what a row's number can hold
_MOST_OFFERED = 8
Value = str | int | float | When


class CellRefused(Refused):
    """A cell that cannot be what its column is."""


@dataclass(frozen=True)
class Use:
    """A column of the file and what it is taken for.

    Attributes
    ----------
    place : int
        Which cell of a row, from 0.
    heading : str
        What stands over it.
    column : Column
        What it is taken for.
    unit, factor : str, float
        The unit its numbers are in, and by what they are multiplied to be in the column's.
    order : Order
        How its days are written.
    """

    place: int
    heading: str
    column: Column
    unit: str = ""
    factor: float = 1.0
    order: Order = Order.OPEN


def read_cell(use: Use, typed: str) -> Value:
    """Return what a cell that is not empty says; raises Refused, with the sentence that tells why not.

    An apostrophe that keeps a spreadsheet from running it is no part of it. Nothing here ever runs a cell.
    """
    return _READERS[use.column.kind](use, unguarded(typed))


def _text(use: Use, typed: str) -> str:
    if len(typed) > use.column.longest:
        raise CellRefused(TOO_LONG, most=use.column.longest)
    return typed


def _whole(use: Use, typed: str) -> int:
    digits = typed.removeprefix("#").strip()
    if not (digits.isascii() and digits.isdigit() and len(digits) < 11 and 0 < int(digits) <= LARGEST):
        raise CellRefused(NO_WHOLE, typed=typed[:40])
    return int(digits)


def _when(use: Use, typed: str) -> When:
    return read_when(typed, use.order)


def _number(use: Use, typed: str) -> float:
    column, factor = use.column, use.factor
    bounds = {"low": round(column.low / factor, 6), "high": round(column.high / factor, 6)}
    read = read_number(
        typed, name=column.name, unit=use.unit or column.unit, spellings=column.spellings, **bounds
    )
    return read if factor == 1.0 else round(read * factor, 6)


def _word(use: Use, typed: str) -> str:
    word = word_of(use.column, typed)
    if word is None:
        raise _none_of(use.column, typed)
    return word


def _grade(use: Use, typed: str) -> int:
    return int(_word(use, typed))


def _none_of(column: Column, typed: str) -> CellRefused:
    if len(column.choices) > _MOST_OFFERED:
        return CellRefused(MANY_WORDS, typed=typed[:40])
    return CellRefused(NO_WORD, typed=typed[:40], offered=[label for _value, label in column.choices])


_READERS: dict[Kind, Callable[[Use, str], Value]] = {
    Kind.TEXT: _text,
    Kind.WHOLE: _whole,
    Kind.DAY: _when,
    Kind.NUMBER: _number,
    Kind.WORD: _word,
    Kind.GRADE: _grade,
}
