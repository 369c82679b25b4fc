"""What recordings told: soft low notes that did not speak, a slow response, a recording too noisy to tell."""

from __future__ import annotations

from dataclasses import replace

from reeds.checks.conformity import COVERAGE
from reeds.checks.facts import ReedFacts, Told
from reeds.checks.findings import CP, CPM, Finding, Outcome
from reeds.checks.grounds import is_as_high, lacking
from reeds.checks.heard import ASK_REFERENCE, REFERENCE_TOO, step_key
from reeds.checks.next_steps import with_step
from reeds.checks.sheet import Sheet
from reeds.numbers.measured import Measured
from reeds.numbers.words import PLAYING_TEST
from reeds.numbers.words import gettext_noop as _

KEY = "recorded"
NAME = _("heard on a recording")
SOURCE = CP

# a tongued note of an oboe settles in 20 to 60 ms, longer on low notes: from memory, no source
SLOW_MS = 150.0

# the same player on the same reed comes back within so much: from memory, no source
ALIKE_MS, ALIKE_SHARE = 25.0, 0.3

TOO_NOISY = _("%(item_name)s: this recording is too noisy to tell.")
QUIETER = _("Record it again in a quieter room, the phone nearer to the bell.")
ALL_SPOKE = _("%(item_name)s: all %(asked)s notes spoke.")
SILENT = _("%(item_name)s: %(spoke)s of %(asked)s notes spoke.")
SLOWER = _(
    "%(item_name)s: it answers %(more)s ms later than your reference reed (%(value)s ms, not %(other)s ms)."
)
SLOW = _("%(item_name)s: it takes %(value)s ms from the first air to a settled tone.")
AS_REFERENCE = _("%(item_name)s: it answers as fast as your reference reed.")
SOONER = _("Does your reference reed answer sooner? Record it in the same sitting before you scrape.")
BOTH_AGAIN = _("Record both once more in one sitting: does it stay so?")
HIGHER = _("%(item_name)s: %(more)s cents higher than your reference reed.")
LOWER = _("%(item_name)s: %(more)s cents lower than your reference reed.")
AS_HIGH = _("%(item_name)s: as high as your reference reed, so it is the oboe or the player if it is off.")


def _found(item: str, outcome: Outcome, message: str, **params: object) -> Finding:
    name = {"item_name": PLAYING_TEST[item]}
    return Finding(
        check=KEY, outcome=outcome, choice=item, message=message, params=name | params, source=SOURCE
    )


def _notes(item: str, told: Told, reference: Told | None, facts: ReedFacts) -> list[Finding]:
    if not told.asked or told.spoke is None:
        return []
    counts = {"asked": told.asked, "spoke": told.spoke}
    if told.spoke >= told.asked:
        return [_found(item, Outcome.WITHIN, ALL_SPOKE, **counts)]
    silent = replace(
        _found(item, Outcome.BELOW, SILENT, **counts), value=float(told.spoke), low=float(told.asked)
    )
    if reference is None or reference.too_noisy or reference.spoke is None:
        return [replace(silent, next_step=ASK_REFERENCE, step_key=step_key(item, facts))]
    if reference.asked and reference.spoke < reference.asked:
        return [replace(silent, outcome=Outcome.NOTED, next_step=REFERENCE_TOO)]
    return [_with_step(silent, told, reference, facts)]


def _with_step(found: Finding, told: Told, reference: Told, facts: ReedFacts) -> Finding:
    """The usual step, where both takes are clear and two notes or takes agree; else: record it again."""
    missing = lacking(told, reference)
    if missing:
        return replace(found, outcome=Outcome.NOTED, next_step=missing)
    with_one = with_step(found, facts, step_key(found.choice, facts))
    return with_one if with_one.next_step else replace(with_one, next_step=BOTH_AGAIN)


def _response(item: str, told: Told, reference: Told | None, facts: ReedFacts) -> list[Finding]:
    """Beside the reference first, since player and oboe take part; alone only where it is very long."""
    if told.response_ms is None:
        return []
    if reference is not None and reference.response_ms is not None:
        return [_beside(item, told.response_ms, reference.response_ms, told, reference, facts)]
    low_end = told.response_ms.value - COVERAGE * told.response_ms.u
    if low_end <= SLOW_MS:
        return []
    slow = _found(item, Outcome.NOTED, SLOW, value=round(told.response_ms.value))
    slow = replace(slow, value=told.response_ms.value, u=told.response_ms.u, high=SLOW_MS)
    return [replace(slow, next_step=SOONER, source=CPM)]


def _beside(
    item: str, own: Measured, other: Measured, told: Told, reference: Told, facts: ReedFacts
) -> Finding:
    later = own - other
    if later.value <= max(COVERAGE * later.u, ALIKE_MS, ALIKE_SHARE * other.value):
        return _found(item, Outcome.WITHIN, AS_REFERENCE)
    numbers = {"more": round(later.value), "value": round(own.value), "other": round(other.value)}
    slower = replace(
        _found(item, Outcome.ABOVE, SLOWER, **numbers), value=own.value, u=own.u, high=other.value
    )
    # a reference whose notes do not agree is enough only for an answer more than twice as late
    unsure = reference.once and later.value <= other.value
    return _with_step(slower, replace(told, once=told.once or unsure), reference, facts)


def _pitch(item: str, told: Told, reference: Told | None) -> list[Finding]:
    """The tuning note beside the reference; against the sheet it is judged as `a4_cents`."""
    if told.cents is None or reference is None or reference.cents is None:
        return []
    if is_as_high(told, reference):
        return [replace(_found(item, Outcome.WITHIN, AS_HIGH), source=CPM)]
    more = told.cents - reference.cents
    found = _found(item, Outcome.NOTED, HIGHER if more.value > 0 else LOWER, more=abs(round(more.value)))
    return [replace(found, value=told.cents.value, u=told.cents.u, next_step=BOTH_AGAIN, source=CPM)]


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return what the takes told, item by item, the reference reed of the same sitting beside them.

    A take that is too noisy says only that. A step that cannot be undone asks for a reference of the same
    sitting, two notes or takes that agree, and nothing else sounding. Pitch is read as the quantity
    `a4_cents`, the crow as `crow`.
    """
    found: list[Finding] = []
    for item, told in facts.takes.items():
        if item not in PLAYING_TEST:
            continue
        if told.too_noisy:
            found.append(replace(_found(item, Outcome.NOTED, TOO_NOISY), next_step=QUIETER))
            continue
        reference = facts.reference_takes.get(item)
        found += _notes(item, told, reference, facts)
        found += _response(item, told, reference, facts)
        found += _pitch(item, told, reference)
    return found
