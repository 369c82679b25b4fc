"""How much has been clipped in all, against the sheet."""

from __future__ import annotations

from reeds.checks.comparing import compared, remark
from reeds.checks.facts import Reading, ReedFacts
from reeds.checks.findings import CP, Finding, Outcome
from reeds.checks.sheet import Limit, Sheet
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Stage
from reeds.numbers.words import gettext_noop as _

KEY = "clips"
NAME = _("clipped in all")
SOURCE = CP
ROWS = ("clipped",)

NEVER = _("No clip is on record; on this sheet %(aim)s mm in all is usual.")


def _never(facts: ReedFacts, limit: Limit) -> list[Finding]:
    """A remark where nothing was clipped of a finished reed, unless the sum of its lengths says so."""
    lengths = {"tie_length", "overall_length"} <= facts.numbers.keys()
    if lengths or limit.aim is None or facts.stage not in (Stage.FINISHING, Stage.PLAYING):
        return []
    return [remark(KEY, QUANTITIES["clipped"], NEVER, SOURCE, aim=limit.aim)]


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return the sum of the clips, mm, against the sheet.

    While the reed is only scraped, more may yet be clipped: then only too much is told.
    """
    limit = sheet.limit_for("clipped", facts.staple_length, facts.flexibility, facts.stage)
    if limit is None:
        return []
    if not facts.clips:
        return _never(facts, limit)
    total = facts.clipped()
    found = compared(
        KEY, QUANTITIES["clipped"], Reading(quantity="clipped", measured=total), total, limit, facts
    )
    more_may_follow = facts.stage.order < Stage.FINISHING.order
    return [one for one in found if one.outcome is Outcome.ABOVE or not more_may_follow]
