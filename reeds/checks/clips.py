"""How much has been clipped in all, against the sheet."""

from __future__ import annotations

from reeds.checks.comparing import compared
from reeds.checks.facts import Reading, ReedFacts
from reeds.checks.findings import CP, Finding, Outcome
from reeds.checks.sheet import Sheet
from reeds.numbers.vocabulary import Stage
from reeds.numbers.words import gettext_noop as _

KEY = "clips"
NAME = _("clipped in all")
SOURCE = CP
ROWS = ("clipped",)


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return the sum of the clips, mm, against the sheet.

    While the reed is only scraped, more may yet be clipped: then only too much is told.
    """
    limit = sheet.limit_for("clipped", facts.staple_length, facts.flexibility)
    if limit is None or not facts.clips:
        return []
    total = facts.clipped()
    found = compared(KEY, Reading(quantity="clipped", measured=total), total, limit, facts)
    more_may_follow = facts.stage.order < Stage.FINISHING.order
    return [one for one in found if one.outcome is Outcome.ABOVE or not more_may_follow]
