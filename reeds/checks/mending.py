"""What can still be mended on this reed, as data; what cannot is past: a remark, asked of nobody."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from reeds.checks.facts import ReedFacts
from reeds.checks.findings import FAULTS, Finding, Outcome
from reeds.numbers.quantity import Known, Quantity
from reeds.numbers.registry import REGISTRY
from reeds.numbers.words import Stage
from reeds.numbers.words import gettext_noop as _

NEXT_REED = _("Measure it once more. If it stays so, note it for the next reed.")
ANOTHER_PIECE = _("Measure it once more. If it stays so, take another piece.")
THIN_ON = _("Measure it once more. If it stays so, the ends can still be thinned further.")
TIE_AGAIN = _("Measure it once more. If it stays so, it can still be tied again.")
SET_RIGHT = _("Measure it once more. If it stays so, it can still be set right by hand, soaked.")
SCRAPE_ON = _("Measure it once more. If it stays so, the scrape can still be made longer.")
TIP_ON = _("Measure it once more. If it stays so, the tip can still be made longer.")
STILL_LONG = _("Leave it so until it plays: it can still be made shorter.")


@dataclass(frozen=True)
class Mend:
    """Up to which stage a fault can be mended on this reed, and what is said of it; `text` may be ''."""

    until: Stage
    text: str = ""


def _both(key: str, mend: Mend) -> dict[tuple[str, Outcome], Mend]:
    return {(key, Outcome.BELOW): mend, (key, Outcome.ABOVE): mend}


# common practice, no source: what wood is left can be taken off, what is gone does not come back
MENDS: dict[tuple[str, Outcome], Mend] = {
    **_both("tube_diameter", Mend(Stage.CANE, ANOTHER_PIECE)),
    **_both("gouge", Mend(Stage.CANE, ANOTHER_PIECE)),
    ("end_thinned", Outcome.BELOW): Mend(Stage.SHAPED, THIN_ON),
    **_both("staple_length", Mend(Stage.PLAYING)),
    **_both("cane_beyond_staple", Mend(Stage.BOUND, TIE_AGAIN)),
    **_both("tie_length", Mend(Stage.BOUND, TIE_AGAIN)),
    **_both("slip", Mend(Stage.BOUND, SET_RIGHT)),
    **_both("thread_past_staple", Mend(Stage.PLAYING)),
    ("airtight", Outcome.DIFFERS): Mend(Stage.PLAYING),
    ("fold_cut", Outcome.DIFFERS): Mend(Stage.BOUND),
    ("blades_lie", Outcome.DIFFERS): Mend(Stage.BOUND),
    ("blades_lie", Outcome.NOTED): Mend(Stage.BOUND),
    ("tied_straight", Outcome.DIFFERS): Mend(Stage.BOUND),
    ("thread_force", Outcome.DIFFERS): Mend(Stage.BOUND),
    ("scrape_length", Outcome.BELOW): Mend(Stage.FINISHING, SCRAPE_ON),
    ("clipped", Outcome.BELOW): Mend(Stage.PLAYING, STILL_LONG),
    ("overall_length", Outcome.ABOVE): Mend(Stage.PLAYING, STILL_LONG),
    ("tip_length", Outcome.BELOW): Mend(Stage.PLAYING, TIP_ON),
}

# so long a number can be measured again, where that is longer than it is asked
MEASURED_UNTIL = {
    "staple_length": Stage.BOUND,
    "cane_beyond_staple": Stage.BOUND,
    "tie_length": Stage.BOUND,
    "slip": Stage.BOUND,
    "thread_past_staple": Stage.PLAYING,
    "clipped": Stage.PLAYING,
}


def measured_until(quantity: Quantity) -> Stage:
    """Return the last stage at which a quantity can be measured or looked at."""
    return MEASURED_UNTIL.get(quantity.key) or quantity.last_asked


def mended(quantity: Quantity, outcome: Outcome, stage: Stage) -> str:
    """Return what is said to a fault of a typed number that has no usual step of its own."""
    mend = MENDS.get((quantity.key, outcome))
    if mend is not None and mend.text and stage.order <= mend.until.order:
        return mend.text
    return NEXT_REED if quantity.is_typed else ""


def is_past(found: Finding, stage: Stage, known: Known) -> bool:
    """Return whether a finding asks for something of a stage that is over, and nothing can be mended."""
    if stage.order > Stage.PLAYING.order:
        return True
    ends = [measured_until(known[key]) for key in (found.quantity, *found.also) if key]
    mend = MENDS.get((found.quantity, found.outcome))
    if mend is not None:
        ends.append(mend.until)
    return bool(ends) and max(end.order for end in ends) < stage.order


def remarked(findings: Iterable[Finding], facts: ReedFacts, known: Known) -> list[Finding]:
    """Return the findings, those of the past as remarks without a step; what only asked again is dropped."""
    kept = []
    for found in findings:
        if not is_past(found, facts.stage, known):
            kept.append(found)
        elif not found.needs_attention:
            kept.append(found.without_step())
        elif found.outcome in FAULTS or found.outcome is Outcome.CONTRADICTION:
            kept.append(replace(found.without_step(), outcome=Outcome.NOTED, step_key=""))
    return kept


def told(findings: Iterable[Finding], stage: Stage, known: Known = REGISTRY) -> list[Finding]:
    """Return what is worth telling of a reed at a stage.

    Not that a way of measuring cannot decide: that stands beside the quantity on the sheet and beside the
    field, once. Nor that a number of a stage that is over is as it should be.
    """
    return [
        one
        for one in findings
        if one.outcome is not Outcome.UNDECIDABLE
        and not (one.outcome is Outcome.WITHIN and one.quantity and is_past(one, stage, known))
    ]
