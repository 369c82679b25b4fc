"""Two readings of one quantity: whether they are of the same thing, so that both can be right."""

from __future__ import annotations

from datetime import timedelta

from reeds.checks.facts import Reading, ReedFacts
from reeds.numbers.measured import Measured
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Moisture, Stage

# what changes under the knife or in playing is compared within a day: own choice, no source
ONE_DAY = timedelta(days=1)


def _lasts(quantity: Quantity) -> bool:
    """Whether it stays as it is: what is measured before the reed is scraped."""
    return quantity.stage.order < Stage.SCRAPED.order


def of_one_moment(used: Reading, other: Reading, quantity: Quantity) -> bool:
    """Whether nothing was done to what they measure between the two."""
    if used.stage is not other.stage:
        return False
    if _lasts(quantity):
        return True
    return used.when is not None and other.when is not None and abs(used.when - other.when) <= ONE_DAY


def are_alike(used: Reading, other: Reading) -> bool:
    """Whether the two are of one thing: neither computed, no clip between, not one wet and one dry."""
    moistures = {used.moisture, other.moisture}
    return not (used.computed_from or other.computed_from) and not {Moisture.WET, Moisture.DRY} <= moistures


def clipped_between(other: Reading, used: Reading, facts: ReedFacts) -> Measured:
    """What was clipped from the reading `other` on until `used`, mm, where it shortens the quantity."""
    if used.quantity not in ("overall_length", "scrape_length") or other.when is None:
        return Measured(0.0)
    return facts.clipped(after=other.when, until=used.when)
