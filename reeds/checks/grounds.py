"""What a recording must bring before it leads to a knife: clear takes that agree, beside the reference's."""

from __future__ import annotations

from reeds.checks.conformity import COVERAGE
from reeds.checks.facts import FROM_TAKES, ReedFacts, Told
from reeds.checks.findings import Finding
from reeds.numbers.words import Method
from reeds.numbers.words import gettext_noop as _

CLEARER = _("Record it again as asked, with nothing else sounding: this recording is no ground for scraping.")
ONCE_MORE = _("One note of one recording says so: record it once more in this sitting before you scrape.")
REFERENCE_TOO = _("Record your reference reed in the same sitting before you scrape or clip.")
AS_HIGH = _("Your reference reed sounds as high: it is the oboe or the player. Do not scrape or clip for it.")

# the same player on the same reed comes back within so much: from memory, no source
ALIKE_CENTS = 5.0


def lacking(told: Told | None, reference: Told | None) -> str:
    """Return what is to be done before what the take says may lead to a knife; '' where nothing is."""
    if told is None or told.too_noisy or told.doubtful:
        return CLEARER
    if told.once:
        return ONCE_MORE
    if reference is None or reference.too_noisy:
        return REFERENCE_TOO
    return CLEARER if reference.doubtful else ""


def is_as_high(told: Told, reference: Told) -> bool:
    """Whether the tuning note of both reeds lies within what one player on one reed comes back to."""
    if told.cents is None or reference.cents is None:
        return False
    apart = told.cents - reference.cents
    return abs(apart.value) <= max(ALIKE_CENTS, COVERAGE * apart.u)


def grounded(found: Finding, facts: ReedFacts) -> Finding:
    """Return a finding on a recorded number with its knife only where the take is ground for one."""
    item, reading = FROM_TAKES.get(found.quantity), facts.numbers.get(found.quantity)
    if item is None or reading is None or reading.method is not Method.RECORDING:
        return found
    told, reference = facts.takes.get(item), facts.reference_takes.get(item)
    missing = lacking(told, reference)
    if told and reference and not missing and is_as_high(told, reference):
        missing = AS_HIGH
    return found.without_step(missing) if missing and found.irreversible else found
