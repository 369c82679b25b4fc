"""Numbers that geometry puts in order: the longer one given as the shorter is a slip."""

from __future__ import annotations

from dataclasses import dataclass

from reeds.checks.conformity import COVERAGE
from reeds.checks.facts import Reading, ReedFacts
from reeds.checks.findings import Finding, Outcome
from reeds.checks.sheet import Sheet
from reeds.numbers.measured import Measured
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import gettext_noop as _

KEY = "order"
NAME = _("longer and shorter")
SOURCE = _("geometry of the reed; joint uncertainty as in JCGM 100:2008, 5.1.2")

LONGER = _("%(name)s (%(more)s mm) must be more than %(less_name)s (%(less)s mm).")
FOLDED = _(
    "Half of %(name)s is %(more)s mm: folded, it cannot give %(less)s mm of %(less_name)s and more to tie on."
)
AGAIN = _("Measure both again: one of them is probably misread.")


@dataclass(frozen=True)
class Order:
    """`more` times `share` must be over `less`."""

    more: str
    less: str
    share: float = 1.0
    message: str = LONGER


ORDERS = (
    Order("tie_length", "overall_length"),
    Order("tie_length", "staple_length"),
    Order("overall_length", "staple_length"),
    # gouged cane is folded at its middle, so half of it covers the blade and the tying
    Order("gouged_length", "cane_beyond_staple", share=0.5, message=FOLDED),
    Order("overall_length", "scrape_length"),
    Order("thickness_tip_centre", "thickness_tip_corners"),
    Order("thickness_heart", "thickness_tip_centre"),
)


def _turned(rule: Order, more: Measured, less: Measured) -> bool:
    """Whether the shorter is longer by more than doubt allows."""
    gap = less - more * rule.share
    return gap.value > max(COVERAGE * gap.u, 1e-9)


def _computed(first: Reading, second: Reading) -> bool:
    return second.quantity in first.computed_from or first.quantity in second.computed_from


def _finding(rule: Order, more: Measured, less: Measured) -> Finding:
    params: dict[str, object] = {
        "name": QUANTITIES[rule.more].name,
        "less_name": QUANTITIES[rule.less].name,
        "more": round(more.value * rule.share, 2),
        "less": round(less.value, 2),
    }
    return Finding(
        check=KEY,
        outcome=Outcome.CONTRADICTION,
        quantity=rule.less,
        also=(rule.more,),
        value=less.value,
        u=less.u,
        message=rule.message,
        params=params,
        next_step=AGAIN,
        source=SOURCE,
    )


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return a contradiction for every pair of numbers that stands the wrong way round."""
    found = []
    for rule in ORDERS:
        first, second = facts.numbers.get(rule.more), facts.numbers.get(rule.less)
        if first is None or second is None or _computed(first, second):
            continue
        more, less = first.measured, second.measured
        if more is not None and less is not None and _turned(rule, more, less):
            found.append(_finding(rule, more, less))
    return found
