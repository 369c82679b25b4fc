"""What is seen or heard and not measured: airtight when closed, the crow."""

from __future__ import annotations

from reeds.checks.comparing import base_params
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import CP, Finding, Outcome
from reeds.checks.next_steps import with_step
from reeds.checks.sheet import Sheet
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import gettext_noop as _

KEY = "seen"
NAME = _("seen or heard")
SOURCE = CP

AS_WANTED = _("%(name)s: %(choice_label)s, as the sheet has it.")
NOT_AS_WANTED = _("%(name)s: %(choice_label)s; the sheet has: %(wanted_label)s.")

SEEN_HERE = ("airtight", "crow")


def seen(check: str, key: str, facts: ReedFacts, sheet: Sheet) -> Finding | None:
    """Return whether what was seen is what the sheet wants, without a next step; None if nothing to say."""
    limit = sheet.limit_for(key, facts.staple_length, facts.flexibility)
    choice, quantity = facts.choice(key), QUANTITIES[key]
    if limit is None or choice not in dict(quantity.choices):
        return None
    wanted = choice == limit.choice
    labels = {"choice_label": quantity.label_of(choice), "wanted_label": quantity.label_of(limit.choice)}
    return Finding(
        check=check,
        outcome=Outcome.WITHIN if wanted else Outcome.DIFFERS,
        quantity=key,
        choice=choice,
        message=AS_WANTED if wanted else NOT_AS_WANTED,
        params=base_params(quantity, **labels),
        source=limit.source,
    )


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return one finding for each thing seen that stands on the sheet."""
    found = []
    for key in SEEN_HERE:
        one = seen(KEY, key, facts, sheet)
        if one is not None:
            found.append(with_step(one, facts, f"{key}:{one.choice}"))
    return found
