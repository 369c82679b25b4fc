"""The table behind an answer: every cell with what came of its reeds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from lessons.comparison.inference.compared import Cell
from lessons.comparison.pages.gathered import UP_TO, Asked
from reeds.templatetags.quantities import worded
from studio.numerals import for_eyes


@dataclass(frozen=True)
class CellRow:
    """One line of the table: of whom and when, and what came of each group."""

    student: str
    third: int
    lot: str
    cells: list[str]


def cell_table(
    it: Asked, names: Mapping[int, str], lots: Mapping[int, str]
) -> tuple[list[str], list[CellRow]]:
    """Return the heads of the groups, and a line for each stratum with what came of each."""
    cells = it.cells
    levels = sorted({cell.level for cell in cells})
    strata = sorted({cell.stratum for cell in cells})
    by_place = {(cell.stratum, cell.level): cell for cell in cells}
    rows = [
        CellRow(
            names.get(student, ""),
            third + 1,
            lots.get(lot, ""),
            [_cell(it, by_place.get(((student, third, lot), level))) for level in levels],
        )
        for student, third, lot in strata
    ]
    return [_head(it, level) for level in levels], rows


def _head(it: Asked, level: str) -> str:
    if it.middle is None:
        return level
    words = _("up to %(middle)s %(unit)s") if level == UP_TO else _("over %(middle)s %(unit)s")
    return words % {"middle": for_eyes(round(it.middle, 1)), "unit": worded(it.factor.unit)}


def _cell(it: Asked, cell: Cell | None) -> str:
    """Return '3 of 4' for yes or no, else every outcome."""
    outcomes_: Sequence[float] = cell.outcomes if cell else ()
    if not outcomes_:
        return "–"
    if it.outcome.no:
        return _("%(yes)d of %(n)d") % {"yes": int(sum(outcomes_)), "n": len(outcomes_)}
    return ", ".join(for_eyes(one) for one in outcomes_)
