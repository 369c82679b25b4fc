"""What the feel of the cane asks for."""

from __future__ import annotations

from reeds.checks.facts import ReedFacts
from reeds.checks.findings import CP, Finding, Outcome
from reeds.checks.next_steps import step_for, with_step
from reeds.checks.sheet import Sheet
from reeds.numbers.words import Flexibility, Stage
from reeds.numbers.words import gettext_noop as _

KEY = "cane"
NAME = _("feel of the cane")
SOURCE = CP

NOT_FELT = _("How the wet cane feels is not noted: hard cane is scraped longer, very flexible cane shorter.")
FLEXIBLE = _("This cane is very flexible.")
BEFORE_PLAYING = (Stage.TIED, Stage.BOUND, Stage.SCRAPED, Stage.FINISHING)


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return a remark for very flexible cane while there is scraping to be done, and for cane nobody felt."""
    if facts.flexibility is Flexibility.UNKNOWN and facts.stage is Stage.SCRAPED:
        return [Finding(check=KEY, outcome=Outcome.NOTED, message=NOT_FELT, source=SOURCE)]
    step = step_for(facts.style, "flexible_cane")
    if step is None or facts.flexibility is not Flexibility.FLEXIBLE or facts.stage not in BEFORE_PLAYING:
        return []
    found = Finding(check=KEY, outcome=Outcome.NOTED, message=FLEXIBLE, source=SOURCE)
    return [with_step(found, facts, "flexible_cane")]
