"""Lengths of a photo against ruler and caliper: all off by one factor points at the printed card."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from reeds.checks.comparable import are_alike, clipped_between, of_one_moment
from reeds.checks.conformity import COVERAGE
from reeds.checks.facts import Reading, ReedFacts
from reeds.checks.findings import Finding, Outcome
from reeds.checks.sheet import Sheet
from reeds.numbers.measured import Measured
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method
from reeds.numbers.words import gettext_noop as _

KEY = "print_scale"
NAME = _("all lengths of a photo off by one factor")
SOURCE = _(
    "weighted mean and joint uncertainty as in JCGM 100:2008, 5.1.2; the limits: own choice, no source"
)

LONG = _(
    "All lengths from the photo are longer by the same %(percent)s %% than by ruler or caliper: the card may "
    "be printed too small."
)
SHORT = _(
    "All lengths from the photo are shorter by the same %(percent)s %% than by ruler or caliper: the card "
    "may be printed too large."
)
MEASURE_BAR = _(
    "Measure the 100 mm bar of the printed card, note it on the card's page, and measure the photo again."
)

BY_HAND = (Method.RULER, Method.CALIPER)
WHOLE = ("tie_length", "overall_length", "cane_beyond_thread", "scrape_length")
THREAD = "thread_past_staple"
# what a photo's length carries beside its scale, mm, and how long a length must be to tell a scale by
U_PHOTO_MM = 0.2
LEAST_MM = 20.0
LEAST_LENGTHS = 2


@dataclass(frozen=True)
class Pair:
    """One length by a photo and by hand: how many times the latter the former is, and of which photo."""

    quantity: str
    ratio: Measured
    batch: str


def _pairs(facts: ReedFacts) -> Iterator[Pair]:
    for key in (*WHOLE, THREAD):
        used = facts.numbers.get(key)
        rows = (used, *facts.others.get(key, ())) if used else ()
        photos = [row for row in rows if row.method is Method.PHOTO and row.batch]
        hands = [row for row in rows if row.method in BY_HAND]
        for photo, hand in zip(photos[:1], hands[:1], strict=False):
            pair = _pair(photo, hand, facts)
            if pair is not None:
                yield pair


def _pair(photo: Reading, hand: Reading, facts: ReedFacts) -> Pair | None:
    if not of_one_moment(photo, hand, QUANTITIES[photo.quantity]):
        return None
    if photo.quantity == THREAD:
        both = _from_the_foot(photo, facts), _from_the_foot(hand, facts)
    elif are_alike(photo, hand):
        both = _after_clips(photo, hand, facts), _after_clips(hand, photo, facts)
    else:
        return None
    seen, held = both
    if seen is None or held is None or held.value < LEAST_MM:
        return None
    u = Measured(0.0, held.u) + Measured(0.0, U_PHOTO_MM)
    return Pair(photo.quantity, Measured(seen.value / held.value, u.u / held.value), photo.batch)


def _from_the_foot(reading: Reading, facts: ReedFacts) -> Measured | None:
    """The thread's end from the foot, mm: a photo sees that, and the number kept of it is less the staple."""
    staple = facts.value("staple_length")
    if reading.measured is None or (staple is None and facts.staple_length is None):
        return None
    return reading.measured + (staple or Measured(facts.staple_length or 0.0))


def _after_clips(reading: Reading, other: Reading, facts: ReedFacts) -> Measured | None:
    if reading.measured is None:
        return None
    return reading.measured - clipped_between(reading, other, facts)


def common_factor(ratios: Iterable[Measured]) -> Measured | None:
    """Return the one factor by which lengths are off, or None where it is none, or they do not agree on it.

    Parameters
    ----------
    ratios : iterable of Measured
        Each length by the photo over the same length by hand, with its standard uncertainty; independent.

    Source
    ------
    The mean weighted by 1/u2 and its u (JCGM 100:2008, 5.1.2); each must lie within 2.6 u of it, and it
    over 2.6 u from 1.
    """
    told = list(ratios)
    if len(told) < LEAST_LENGTHS:
        return None
    weight = sum(1 / one.u**2 for one in told)
    factor = Measured(sum(one.value / one.u**2 for one in told) / weight, weight**-0.5)
    agree = all(abs(one.value - factor.value) <= COVERAGE * one.u for one in told)
    one_side = len({one.value > 1 for one in told}) == 1
    return factor if agree and one_side and abs(factor.value - 1) > COVERAGE * factor.u else None


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return the suspicion that a photo's card was not printed to size; of several photos, the first."""
    by_photo: dict[str, list[Pair]] = defaultdict(list)
    for pair in _pairs(facts):
        by_photo[pair.batch].append(pair)
    found = []
    for pairs in by_photo.values():
        factor = common_factor(pair.ratio for pair in pairs)
        if factor is not None:
            found.append(_suspected(pairs, factor))
    return found[:1]


def _suspected(pairs: list[Pair], factor: Measured) -> Finding:
    off = 100 * (factor.value - 1)
    return Finding(
        check=KEY,
        outcome=Outcome.CONTRADICTION,
        quantity=pairs[0].quantity,
        also=tuple(pair.quantity for pair in pairs[1:]),
        message=LONG if off > 0 else SHORT,
        params={"percent": round(abs(off), 1)},
        next_step=MEASURE_BAR,
        source=SOURCE,
    )
