"""Each number against the sheet's low and high, as far as its doubt allows."""

from __future__ import annotations

from reeds.checks.comparing import against_sheet
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import Finding
from reeds.checks.sheet import Sheet
from reeds.numbers.words import gettext_noop as _

KEY = "limits"
NAME = _("within the sheet's limits")
SOURCE = _("JCGM 106:2012, clause 7; the limits are the studio's own, each row of the sheet names its source")


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return one finding for every number that stands on the sheet, in the sheet's order.

    The registry leaves out the rows that another check looks at itself.
    """
    return [found for key in sheet.keys for found in against_sheet(KEY, key, facts, sheet)]
