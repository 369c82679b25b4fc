"""Whether the blank rested before it was scraped: a remark, never a fault."""

from __future__ import annotations

from datetime import timedelta

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

# what is noted so shortly after another step was done in one go: own choice, no source
SOON = timedelta(minutes=30)

TOO_SHORT = _(
    "It was scraped after %(hours)s hours of rest; at least a night is usual, and weeks are common."
)
AT_ONCE = _("It was scraped as soon as it was tied; at least a night of rest is usual, and weeks are common.")
BOUND_AT_ONCE = _("It was bound and scraped in one go; after binding, too, some rest is usual.")


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return a remark if a scraped reed rested, from tying on, for less than the sheet's low limit, in days.

    A blank that still rests gets none: it can go on resting. How long it was bound is told only where that
    was no time at all.
    """
    limit = sheet.limit_for("rest", facts.staple_length, facts.flexibility, facts.stage)
    if limit is None or limit.low is None or facts.rested is None or not facts.stage.is_scraped:
        return []
    hours = facts.rested.total_seconds() / 3600
    source = limit.source or SOURCE
    if hours >= 24 * limit.low:
        at_once = facts.bound_for is not None and facts.bound_for < SOON
        return [remark(KEY, QUANTITIES["rest"], BOUND_AT_ONCE, source)] if at_once else []
    if facts.rested < SOON:
        return [remark(KEY, QUANTITIES["rest"], AT_ONCE, source)]
    return [remark(KEY, QUANTITIES["rest"], TOO_SHORT, source, hours=float(round(hours)))]
