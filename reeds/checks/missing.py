"""What the sheet wants to know at this stage and nobody has measured yet."""

from __future__ import annotations

from reeds.checks.facts import Reading, ReedFacts
from reeds.checks.findings import CP, Finding, Outcome
from reeds.checks.sheet import Sheet
from reeds.numbers.words import gettext_noop as _

KEY = "missing"
NAME = _("what is not measured yet")
SOURCE = CP

NOT_MEASURED = _("%(name)s is not noted yet.")
NOT_AGAIN = _("%(name)s was last noted at an earlier stage; look again.")


def _stale(reading: Reading, facts: ReedFacts) -> bool:
    """Whether it must be looked at again: what was seen changes, a length only by a clip."""
    if reading.stage is None or reading.stage.order >= facts.stage.order:
        return False
    return reading.measured is None or bool(facts.clipped(after=reading.when).value)


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return one finding for each quantity asked at the reed's stage that has no reading of that stage."""
    found = []
    for quantity in sheet.known.asked_at(facts.stage, sheet.keys):
        reading = facts.numbers.get(quantity.key)
        if reading is not None and not _stale(reading, facts):
            continue
        found.append(
            Finding(
                check=KEY,
                outcome=Outcome.MISSING,
                quantity=quantity.key,
                message=NOT_MEASURED if reading is None else NOT_AGAIN,
                params={"name": quantity.name},
                source=SOURCE,
            )
        )
    return found
