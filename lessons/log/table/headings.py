"""What stands over a column, taken as a name and perhaps a unit, and the column that it names."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lessons.log.table.columns import Column, Kind
from reeds.numbers.quantity import UNITS
from reeds.numbers.words import gettext_noop as _

OTHER_UNIT = _("“%(unit)s” is no unit of %(name)s.")

# so many millimetres is one of these: SI, and the international inch of 1959, 25.4 mm exactly
LENGTHS: dict[str, float] = {
    "mm": 1.0,
    "millimetre": 1.0,
    "millimetres": 1.0,
    "millimeter": 1.0,
    "millimeters": 1.0,
    "cm": 10.0,
    "centimetre": 10.0,
    "centimetres": 10.0,
    "in": 25.4,
    "inch": 25.4,
    "inches": 25.4,
    '"': 25.4,
    "″": 25.4,
    "thou": 0.0254,
    "mil": 0.0254,
}
_KNOWN = {*LENGTHS, *(one.casefold() for unit, also in UNITS.items() for one in (unit, *also))}
_BRACKETED = re.compile(r"(.*\S)\s*[\(\[]\s*([^()\[\]]+?)\s*[\)\]]")
# what may follow a name without brackets: nothing of one letter, which could be a word's own
_LOOSE = re.compile(
    r"(.*?\S)[\s,]+(?:in\s+)?(mm|cm|inch|inches|in|thou|mil|mm2|mm²|deg|cents|Hz|days|%|°)", re.IGNORECASE
)


@dataclass(frozen=True)
class Heading:
    """What stands over one column.

    Attributes
    ----------
    text : str
        As it stands there.
    name : str
        Folded, without unit, marks and underscores, so that two spellings of one name are alike.
    unit : str
        The unit as written, '' where there is none.
    """

    text: str
    name: str
    unit: str


def folded(text: str) -> str:
    """Return a name without the difference of large and small and of marks: 'Tie_length' is 'tie length'."""
    plain = unicodedata.normalize("NFKC", text).casefold().replace("#", " no ")
    return " ".join(re.sub(r"[^\w±]|_", " ", plain).split())


def heading_of(text: str) -> Heading:
    """Return a heading taken apart: 'Tie length (mm)', 'tie length in mm' and 'tie_length' have one name."""
    shown = " ".join(text.split())
    found = _BRACKETED.fullmatch(shown) or _LOOSE.fullmatch(shown)
    if found:
        return Heading(text, folded(found[1]), found[2])
    return Heading(text, folded(shown), "")


def factor_of(column: Column, unit: str) -> float | None:
    """Return by what a number in `unit` is multiplied to be in the column's; None if it is no unit of it.

    What is no unit at all, a remark in brackets, changes nothing: 1.
    """
    written = unit.strip().casefold()
    own = {one.casefold() for one in (column.unit, *column.spellings, *UNITS.get(column.unit, ()))}
    if not written or written in own or written not in _KNOWN:
        return 1.0
    return LENGTHS.get(written) if column.unit == "mm" else None


def named(columns: Mapping[str, Column]) -> dict[str, str]:
    """Return the keys of columns by every folded name they go by; how else they are headed comes first."""
    names: dict[str, str] = {}
    for spelt in (lambda one: one.also, lambda one: (one.name,), lambda one: (one.key,)):
        for column in columns.values():
            for name in spelt(column):
                names.setdefault(folded(name), column.key)
    return names


def matched(headings: Sequence[str], columns: Mapping[str, Column]) -> dict[int, str]:
    """Return which column each heading names, by its place; what names none, or one named before, is not in.

    A heading that is a key as an export writes it is that column, whatever else goes by that name.
    """
    names, found = named(columns), dict[int, str]()
    for place, text in enumerate(headings):
        key = _key_of(text, columns, names)
        if key is not None and key not in found.values():
            found[place] = key
    return found


def _key_of(text: str, columns: Mapping[str, Column], names: Mapping[str, str]) -> str | None:
    bare, heading = text.strip(), heading_of(text)
    if bare in columns:
        return bare
    key = names.get(heading.name) or names.get(folded(bare))
    return key if key and takes_unit(columns[key], heading.unit) else None


def takes_unit(column: Column, unit: str) -> bool:
    """Whether the unit a heading names is one of the column's; only a number has one."""
    return column.kind is not Kind.NUMBER or factor_of(column, unit) is not None
