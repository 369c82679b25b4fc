"""What a column of a list can be: a fact of the reed, a day of its life, a number or word, a rating."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from reeds.numbers.quantity import Known, Quantity
from reeds.numbers.words import (
    PLAYING_TEST,
    Effort,
    Flexibility,
    Grade,
    Labelled,
    Method,
    Moisture,
    Speaks,
    Stage,
)
from reeds.numbers.words import gettext_noop as _


class Kind(StrEnum):
    """How a cell of a column is read."""

    TEXT = "text"
    WHOLE = "whole"
    DAY = "day"
    NUMBER = "number"
    WORD = "word"
    GRADE = "grade"


@dataclass(frozen=True, kw_only=True)
class Column:
    """One meaning a column can have.

    Attributes
    ----------
    key, name : str
        The lasting name, as an export writes it, and the marked words for people.
    kind : Kind
        How its cells are read.
    also : tuple of str
        How else people head it.
    choices : tuple of (value, marked label)
        What a word or a grade can be; a grade's value is its number as text.
    spoken : tuple of (value, word)
        The same as other languages call it.
    unit, low, high : str, float, float
        Of a number, its unit ('' for none) and what is plausible, in it.
    longest : int
        Of a text, how many characters it may have.
    quantity : Quantity or None
        What it is a reading of, for a number or word noted of a reed.
    """

    key: str
    name: str
    kind: Kind
    also: tuple[str, ...] = ()
    choices: tuple[tuple[str, str], ...] = ()
    spoken: tuple[tuple[str, str], ...] = ()
    unit: str = ""
    spellings: tuple[str, ...] = ()
    low: float = 0.0
    high: float = 0.0
    longest: int = 40
    quantity: Quantity | None = None


# the days on which a reed came to a stage, by the key of their column
STEPS: dict[str, Stage] = {f"{stage}_on": stage for stage in Stage if stage is not Stage.CANE}
_STEP_NAMES = {
    Stage.SHAPED: (_("day it was shaped"), ("shaped",)),
    Stage.TIED: (_("day it was tied"), ("tied", "date tied", "tying date")),
    Stage.BOUND: (_("day it was bound"), ("bound", "date bound")),
    Stage.SCRAPED: (_("day it was first scraped"), ("scraped", "date scraped", "first scraped")),
    Stage.FINISHING: (_("day finishing began"), ("finishing", "finished", "date finished", "finished on")),
    Stage.PLAYING: (_("day it first played"), ("played from", "first played", "playing since", "played on")),
    Stage.PLAYED_OUT: (_("day it was played out"), ("played out", "played until", "dead", "died")),
    Stage.GIVEN_UP: (_("day it was given up"), ("date given up", "thrown away on", "discarded on")),
}
# how items of the playing test are headed in short
_ITEMS = {
    "crow": ("crow rating",),
    "low_notes": ("low notes", "low register", "low"),
    "staccato": ("staccato", "tonguing"),
    "third_octave": ("third octave", "high notes", "high register", "high"),
    "long_tone": ("long tone", "long tones"),
    "tuning": ("tuning",),
}
_FEELS = ("feel", "wet cane", "flexibility", "hardness", "cane feel")
_YES, _NO = ("yes", "y", "j", "x", "true", "1"), ("no", "n", "false", "0")


def _of_words(words: Iterable[Labelled]) -> tuple[tuple[str, str], ...]:
    return tuple((word.value, word.label) for word in words)


def _of_grades(grades: Iterable[Grade]) -> tuple[tuple[str, str], ...]:
    return tuple((str(grade.value), grade.label) for grade in grades)


def _text(key: str, name: str, *also: str, longest: int = 40) -> Column:
    return Column(key=key, name=name, kind=Kind.TEXT, also=also, longest=longest)


def _word(key: str, name: str, words: Iterable[Labelled], *also: str) -> Column:
    return Column(key=key, name=name, kind=Kind.WORD, also=also, choices=_of_words(words))


def _day(key: str, name: str, *also: str) -> Column:
    return Column(key=key, name=name, kind=Kind.DAY, also=also)


def _grade(key: str, name: str, grades: Iterable[Grade], *also: str) -> Column:
    return Column(key=key, name=name, kind=Kind.GRADE, also=also, choices=_of_grades(grades))


# long enough that the split into notes of a reed's life is the only limit a person meets
LONGEST_NOTE = 2_000
_OF_THE_REED: tuple[Column, ...] = (
    _text("student", _("whose it is"), "student", "name", "player", "owner", "whose", longest=80),
    Column(
        key="reed",
        name=_("number of the reed"),
        kind=Kind.WHOLE,
        also=("reed", "no", "nr", "number", "reed number", "reed no", "#", "cork"),
    ),
    _day("made_on", _("day it was made"), "made", "made on", "date", "day", "date made", "begun", "begun on"),
    _text("sheet", _("measuring sheet"), "sheet", "pattern", longest=60),
    _text("cane", _("cane lot"), "cane", "lot", "cane label", "grower", longest=60),
    _text("shape", _("shape"), "shaper", "shaper tip"),
    _text("staple", _("staple"), "staple", "tube", "staple type"),
    Column(
        key="nominal_staple_length",
        name=_("staple, nominal length"),
        kind=Kind.NUMBER,
        also=("staple length", "nominal length", "tube length", "staple nominal length"),
        unit="mm",
        low=38.0,
        high=52.0,
    ),
    _word("feel", _("wet cane feels"), Flexibility, *_FEELS),
    _word("stage", _("how far it is"), Stage, "stage", "state", "status"),
    *(_day(key, _STEP_NAMES[stage][0], *_STEP_NAMES[stage][1]) for key, stage in STEPS.items()),
    _text("given_up", _("given up, and why"), "given up", "why given up", "discarded", "reason", longest=300),
    _text("note", _("note"), "notes", "comment", "comments", "remarks", "remark", longest=LONGEST_NOTE),
)
_OF_THE_ROW: tuple[Column, ...] = (
    _day("measured_on", _("day it was measured"), "measured", "measured on", "date measured", "tried on"),
    _word("method", _("how measured"), Method, "method", "measured with", "tool"),
    _word("moisture", _("wet or dry"), Moisture, "moisture", "wet", "soaked"),
)
_ONE_NUMBER: tuple[Column, ...] = (
    _text("quantity", _("what was measured, a number a row"), "quantity", "what"),
    _text("value", _("the number measured, a number a row"), "value", "reading"),
    Column(
        key="u",
        name=_("doubt of the number (k = 1), a number a row"),
        kind=Kind.NUMBER,
        also=("doubt", "uncertainty", "± u"),
        high=1000.0,
    ),
    _text("unit", _("unit of the number, a number a row"), "unit", "units"),
)


def columns_of(known: Known) -> dict[str, Column]:
    """Return all that a column can be in a studio that knows these quantities, by key, in order."""
    columns = [*_OF_THE_REED, *_OF_THE_ROW, *_readings(known), *_played(), *_ONE_NUMBER]
    return {column.key: column for column in columns}


def _readings(known: Known) -> Iterable[Column]:
    """What a person can read off a reed; what only a photo or an event tells is no column."""
    return (reading_of(one) for one in known.values() if one.is_typed)


def reading_of(quantity: Quantity) -> Column:
    """Return the column of what is measured or seen."""
    return Column(
        key=quantity.key,
        name=quantity.name,
        kind=Kind.NUMBER if quantity.is_number else Kind.WORD,
        choices=quantity.choices,
        unit=quantity.unit,
        spellings=quantity.spellings,
        low=quantity.low,
        high=quantity.high,
        quantity=quantity,
    )


def _played() -> Iterable[Column]:
    yield _grade("effort", _("how hard it is to blow"), Effort, "effort", "resistance", "blowing")
    for item, name in PLAYING_TEST.items():
        yield _grade(f"plays_{item}", name, Speaks, *_ITEMS[item])
    for item, name in PLAYING_TEST.items():
        short = _ITEMS[item][0]
        yield _grade(f"blows_{item}", name, Effort, f"{short} effort", f"{short}, to blow")


def word_of(column: Column, typed: str) -> str | None:
    """Return the lasting word for what was typed: value or label, small or large; None where it is none.

    Where the choice is between yes and no, an x or a 1 is yes.
    """
    wanted = typed.casefold()
    for value, label in (*column.choices, *column.spoken):
        if wanted in (value.casefold(), label.casefold()):
            return value
    if {value for value, _label in column.choices} == {"yes", "no"}:
        return "yes" if wanted in _YES else "no" if wanted in _NO else None
    return None


def is_yes(typed: str) -> bool:
    """Whether a cell says yes and no more."""
    return typed.casefold() in _YES


def is_no(typed: str) -> bool:
    """Whether a cell says no."""
    return typed.casefold() in _NO
