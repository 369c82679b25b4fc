"""Lengths that must add up, set against each other with their joint doubt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reeds.checks.conformity import COVERAGE
from reeds.checks.facts import Reading, ReedFacts
from reeds.checks.findings import Finding, Outcome
from reeds.checks.sheet import Sheet
from reeds.numbers.measured import Measured, u_of_limits
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Moisture, Style
from reeds.numbers.words import gettext_noop as _

KEY = "sums"
NAME = _("lengths that must add up")
SOURCE = _(
    "arithmetic; joint uncertainty as in JCGM 100:2008, 5.1.2; "
    "the zones of the long scrape: oboeinsight.com, 'Reed definitions'"
)

# a staple of nominal length is taken to be within 0.2 mm of it: common practice from memory
STAPLE_LIMITS_MM = 0.2

AGAIN = _("Measure these again from the foot of the staple: one of them is probably misread.")
NOTE_CLIPS = _("Write down what was clipped, or measure again.")
TIED = _("The staple and the cane beyond it make %(made)s mm, but the tie length is given as %(given)s mm.")
CLIPPED = _(
    "The tie length less %(clips)s mm clipped makes %(made)s mm, but the overall length is given as "
    "%(given)s mm."
)
NEVER_CLIPPED = _(
    "The overall length is given as %(given)s mm and the tie length as %(made)s mm, but no clip is on record."
)
ZONES = _(
    "Staple, bark, back, heart and tip make %(made)s mm, but the overall length is given as %(given)s mm."
)
MIXED = _(
    "%(first_name)s was measured %(first_label)s and %(second_name)s %(second_label)s: cane swells with "
    "water, so measure both soaked."
)


@dataclass(frozen=True)
class Sum:
    """Parts that make a whole; `clips` tells that all clips made before the whole was measured come off."""

    parts: tuple[str, ...]
    whole: str
    message: str
    clips: bool = False
    style: Style | None = None


SUMS = (
    Sum(("staple_length", "cane_beyond_staple"), "tie_length", TIED),
    Sum(("tie_length",), "overall_length", CLIPPED, clips=True),
    Sum(
        ("staple_length", "bark_length", "back_length", "heart_length", "tip_length"),
        "overall_length",
        ZONES,
        style=Style.LONG,
    ),
)


def _reading(key: str, facts: ReedFacts) -> Reading | None:
    """The reading; for a staple that was never measured, its nominal length."""
    found = facts.numbers.get(key)
    if found is not None and found.measured is not None:
        return found
    if key == "staple_length" and facts.staple_length is not None:
        return Reading(quantity=key, measured=Measured(facts.staple_length, u_of_limits(STAPLE_LIMITS_MM)))
    return None


def _readings(rule: Sum, facts: ReedFacts) -> list[Reading]:
    """Every reading the rule needs, the whole last; empty if one is wanting."""
    found = [_reading(key, facts) for key in (*rule.parts, rule.whole)]
    complete = [reading for reading in found if reading is not None]
    return complete if len(complete) == len(found) else []


def independent(readings: Sequence[Reading]) -> bool:
    """Return whether the readings can be set against each other.

    Not where one was computed from another, nor where all come from one photo.
    """
    keys = {reading.quantity for reading in readings}
    computed = any(keys.intersection(reading.computed_from) for reading in readings)
    one_photo = readings[0].batch != "" and len({reading.batch for reading in readings}) == 1
    return not computed and not one_photo


def _made(rule: Sum, readings: Sequence[Reading], clips: Measured) -> Measured:
    total = Measured(0.0)
    for reading in readings[:-1]:
        total = total + (reading.measured or Measured(0.0))
    return total - clips if rule.clips else total


def differ(made: Measured, given: Measured) -> bool:
    """Return whether two numbers of one length contradict each other: over 2.6 joint u apart.

    Both in one unit and independent; with no doubt at all, any difference over rounding counts.
    """
    apart = made - given
    return abs(apart.value) > max(COVERAGE * apart.u, 1e-9)


def _contradiction(rule: Sum, readings: Sequence[Reading], clips: Measured) -> list[Finding]:
    made, given = _made(rule, readings, clips), readings[-1].measured or Measured(0.0)
    if not differ(made, given):
        return []
    unclipped = rule.clips and clips.value == 0 and given.value < made.value
    params: dict[str, object] = {
        "made": round(made.value, 2),
        "given": round(given.value, 2),
        "clips": round(clips.value, 2),
    }
    return [
        Finding(
            check=KEY,
            outcome=Outcome.CONTRADICTION,
            quantity=rule.whole,
            also=rule.parts,
            value=given.value,
            u=(made - given).u,
            message=NEVER_CLIPPED if unclipped else rule.message,
            params=params,
            next_step=NOTE_CLIPS if unclipped else AGAIN,
            source=SOURCE,
        )
    ]


def _mixed(readings: Sequence[Reading]) -> list[Finding]:
    """A remark if one was measured wet and another dry."""
    by_moisture = {reading.moisture: reading for reading in reversed(readings)}
    wet, dry = by_moisture.get(Moisture.WET), by_moisture.get(Moisture.DRY)
    if wet is None or dry is None:
        return []
    first, second = QUANTITIES[wet.quantity], QUANTITIES[dry.quantity]
    params: dict[str, object] = {
        "first_name": first.name,
        "first_label": Moisture.WET.label,
        "second_name": second.name,
        "second_label": Moisture.DRY.label,
    }
    return [
        Finding(
            check=KEY,
            outcome=Outcome.NOTED,
            quantity=second.key,
            also=(first.key,),
            message=MIXED,
            params=params,
            source=_("a reed maker's forum post: 0.01 to 0.04 mm thicker after soaking again"),
        )
    ]


def _applies(rule: Sum, facts: ReedFacts) -> bool:
    """Zones belong to one style; a whole that is still unclipped is no overall length yet."""
    return rule.style in (None, facts.style) and facts.stage.order >= QUANTITIES[rule.whole].stage.order


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return a contradiction for every sum that does not come out, and a remark where wet meets dry."""
    found: list[Finding] = []
    for rule in SUMS:
        readings = _readings(rule, facts) if _applies(rule, facts) else []
        if not readings:
            continue
        found += _mixed(readings)
        if independent(readings):
            found += _contradiction(rule, readings, facts.clipped(until=readings[-1].when))
    return found
