"""Whether the blank rested before it was scraped: a remark, never a fault."""

from __future__ import annotations

from reeds.checks.comparing import remark
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import CP, Finding
from reeds.checks.sheet import Sheet
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import gettext_noop as _

KEY = "rest"
NAME = _("rest before scraping")
SOURCE = CP
ROWS = ("rest",)

TOO_SHORT = _(
    "It was scraped after %(hours)s hours of rest; at least a night is usual, and weeks are common."
)


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return a remark if a scraped reed rested for less than the sheet's low limit, in days.

    A blank that still rests gets none: it can go on resting.
    """
    limit = sheet.limit_for("rest", facts.staple_length, facts.flexibility)
    if limit is None or limit.low is None or facts.rested is None or not facts.stage.is_scraped:
        return []
    hours = facts.rested.total_seconds() / 3600
    if hours >= 24 * limit.low:
        return []
    source = limit.source or SOURCE
    return [remark(KEY, QUANTITIES["rest"], TOO_SHORT, source, hours=float(round(hours)))]
