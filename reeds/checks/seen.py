"""What is seen or heard and not measured: airtight when closed, the crow."""

from __future__ import annotations

from reeds.checks.comparing import seen_beside_sheet
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import CP, Finding
from reeds.checks.next_steps import with_step
from reeds.checks.sheet import Sheet
from reeds.numbers.words import gettext_noop as _

KEY = "seen"
NAME = _("seen or heard")
SOURCE = CP

SEEN_HERE = ("airtight", "crow")


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return one finding for each thing seen that stands on the sheet."""
    found = []
    for key in SEEN_HERE:
        one = seen_beside_sheet(KEY, key, facts, sheet)
        if one is not None:
            found.append(with_step(one, facts, f"{key}:{one.choice}"))
    return found
