"""One number read twice, in two ways or by two people: whether the two can both be right."""

from __future__ import annotations

from reeds.checks.comparable import are_alike, clipped_between, of_one_moment
from reeds.checks.facts import Reading, ReedFacts
from reeds.checks.findings import Finding, Outcome
from reeds.checks.sheet import Sheet
from reeds.checks.sums import differ
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import gettext_noop as _

KEY = "twice"
NAME = _("one number read twice")
SOURCE = _("joint uncertainty as in JCGM 100:2008, 5.1.2")

TWO = _(
    "%(name)s: %(value)s %(unit)s (%(method_label)s) and %(other)s %(unit)s (%(other_label)s) cannot both be "
    "right. The newer is used: %(value)s %(unit)s."
)
BY_TWO = _(
    "%(name)s: student and teacher read %(value)s %(unit)s (%(method_label)s) and %(other)s %(unit)s "
    "(%(other_label)s), which cannot both be right. The newer is used: %(value)s %(unit)s."
)
ONCE_MORE = _("Measure it once more, both ways in one sitting.")


def _two(used: Reading, other: Reading, facts: ReedFacts, quantity: Quantity) -> Finding | None:
    first, second = used.measured, other.measured
    if (
        first is None
        or second is None
        or not (of_one_moment(used, other, quantity) and are_alike(used, other))
    ):
        return None
    if not differ(second - clipped_between(other, used, facts), first):
        return None
    params: dict[str, object] = {
        "name": quantity.name,
        "unit": quantity.unit,
        "value": round(first.value, quantity.decimals),
        "other": round(second.value, quantity.decimals),
        "method_label": used.method.label,
        "other_label": other.method.label,
    }
    return Finding(
        check=KEY,
        outcome=Outcome.CONTRADICTION,
        quantity=quantity.key,
        value=first.value,
        u=first.u,
        message=TWO if used.by_teacher == other.by_teacher else BY_TWO,
        params=params,
        next_step=ONCE_MORE,
        source=SOURCE,
    )


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return a contradiction for each number that another way or another person reads differently.

    One a quantity: of several others the first that differs. Where somebody read again in the same way, the
    older was put right and says nothing.
    """
    found = []
    for key, others in facts.others.items():
        used = facts.numbers.get(key)
        if used is None or key not in sheet.known:
            continue
        told = (_two(used, other, facts, sheet.known[key]) for other in others)
        found += [one for one in told if one is not None][:1]
    return found
