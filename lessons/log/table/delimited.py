"""Text with commas, semicolons or tabs between its cells, and quotation marks as RFC 4180 has them."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from itertools import islice

from lessons.log.table.rows import Row, Said, TableRefused
from reeds.numbers.words import gettext_noop as _

BROKEN = _(
    "The quotation marks of row %(row)s do not pair: a cell in them ends with one and doubles those inside."
)
PARTED = _("Its cells are parted by %(delimiter_name)s.")
ONE_COLUMN = _("It has one column only: neither comma, semicolon nor tab parts its cells.")

# the rarer in text comes first: where two would part every row alike, a comma is a decimal comma
DELIMITERS = {"\t": _("tabs"), ";": _("semicolons"), ",": _("commas")}
_LOOKED_AT = 50
_NAMED = re.compile(r"sep=([,;\t])\r?\n", re.IGNORECASE)


def delimited(text: str) -> tuple[Iterator[Row], list[Said]]:
    """Return the rows of a text and what there is to say of it; TableRefused may come while one goes through.

    Its first line may name the delimiter, `sep=;`, as a spreadsheet writes it: it is no row then.

    Source
    ------
    RFC 4180, section 2: quotation marks, doubled inside, around cells with line breaks or delimiters.
    """
    named = _NAMED.match(text)
    body = text[named.end() :] if named else text
    delimiter = named[1] if named else delimiter_of(body)
    said = Said(PARTED, {"delimiter_name": DELIMITERS[delimiter]}) if delimiter else Said(ONE_COLUMN, {})
    return _rows(body, delimiter or ","), [said]


def delimiter_of(text: str) -> str:
    """Return what parts the cells: that by which most of the first rows have as many cells as the headings.

    '' if there is but one column. Of two that fit as well the rarer in text: tab, semicolon, comma.
    """
    fits = {delimiter: _fit(text, delimiter) for delimiter in DELIMITERS}
    best = max(fits, key=lambda delimiter: fits[delimiter])
    return best if fits[best] > 0 else ""


def _fit(text: str, delimiter: str) -> float:
    """The share of rows with as many cells as the first; 0 where the first has one, or marks do not pair."""
    try:
        widths = [len(row.cells) for row in islice(_rows(text, delimiter), _LOOKED_AT) if any(row.cells)]
    except TableRefused:
        return 0.0
    if not widths or widths[0] < 2:
        return 0.0
    return sum(width == widths[0] for width in widths) / len(widths)


def _rows(text: str, delimiter: str) -> Iterator[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    number = 0
    try:
        for number, cells in enumerate(reader, start=1):
            yield Row(number, tuple(cells))
    except csv.Error:
        raise TableRefused(BROKEN, row=number + 1) from None
