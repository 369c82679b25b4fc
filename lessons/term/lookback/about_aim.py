"""Where numbers lie beside the aim: always to one side (an offset, or the hand?), and whether it changed."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from statistics import fmean, median
from typing import NamedTuple

from lessons.term.lookback.chance import chance, later, sittings
from lessons.term.lookback.of_student import OfStudent, Value
from lessons.term.lookback.questions import Page, Question, enough, thirds
from lessons.term.lookback.sentence import Manner, Phrase, Sentence, Topic, counted, when
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Stage
from reeds.numbers.words import gettext_noop as _

# what follows from another length, or is bought: no work of the hand of its own
FOLLOWS = frozenset({"cane_beyond_staple", "overall_length", "staple_length"})
LAST = 10
# said from here on: a quarter of the row's half width, and never less than half a division of the ruler
LEAST_MM = 0.25

TIED = {
    1: _("%(count_name)s of the last %(n_name)s were tied %(low)s to %(high)s mm longer than the aim"),
    -1: _("%(count_name)s of the last %(n_name)s were tied %(low)s to %(high)s mm shorter than the aim"),
}
LIES = {
    1: _("%(name)s: %(count_name)s of the last %(n_name)s lie %(low)s to %(high)s %(unit)s over the aim"),
    -1: _("%(name)s: %(count_name)s of the last %(n_name)s lie %(low)s to %(high)s %(unit)s under the aim"),
}
OR_THE_HAND = _("%(so)s: an offset for this instrument, or the hand?")
ON_EVERY_STAPLE = _("%(so)s, on every staple: an offset for this instrument, or the hand?")
OFFSET_GROUND = _(
    "%(n)s reeds; the middle of this hand lies %(low)s to %(high)s %(unit)s beside the aim (95 %% interval)."
)
MOVED = _("%(name)s: %(first)s %(then)s, %(last)s %(now)s.")
BESIDE = {
    1: _("on average %(much)s %(unit)s over the aim"),
    -1: _("on average %(much)s %(unit)s under the aim"),
    0: _("on the aim"),
}
MOVED_GROUND = _("The first %(first_n)s and the last %(last_n)s of %(n)s reeds.")


def of_hand(quantity: Quantity) -> bool:
    """Whether it is a length that the hand makes: nothing bought, no opening that came of the work."""
    made = quantity.is_length and quantity.stage is not Stage.PLAYING
    return made and quantity.key not in FOLLOWS


def beside(of: OfStudent, page: Page) -> list[Question]:
    """Return whether each length that has an aim and reeds enough lies always to one side of it."""
    return [_offset(of, one, values) for one, values in _numbers(of, page) if of_hand(one)]


def moved(of: OfStudent, page: Page) -> list[Question]:
    """Return whether each number that has an aim and reeds enough went up or down over the term."""
    return [_moved(of, one, values, page) for one, values in _numbers(of, page)]


def _numbers(of: OfStudent, page: Page) -> list[tuple[Quantity, list[Value]]]:
    there = [(page.known[key], values) for key, values in of.off_aim.items() if key in page.known]
    return [(one, values) for one, values in there if one.key not in FOLLOWS and enough(values)]


def _offset(of: OfStudent, quantity: Quantity, values: Sequence[Value]) -> Question:
    """Whether this hand's middle lies beside the aim: t over the means of its sittings."""
    middle = _middle(values)
    p = middle.chance
    return Question(p, lambda: _lies(of, quantity, values, middle, p))


def _lies(
    of: OfStudent, quantity: Quantity, values: Sequence[Value], middle: _Middle, p: float
) -> list[Sentence]:
    """What is said of it; nothing where the last reeds do not bear it out."""
    far, half = abs(middle.mean), middle.half
    last = [one.value for one in values[-LAST:]]
    side = 1 if middle.mean > 0 else -1
    beside = sorted(abs(one) for one in last if one * side > LEAST_MM)
    if median(last) * side < LEAST_MM or far - half <= 0 or 2 * len(beside) <= len(last):
        return []
    low, high = round(beside[0], 1), round(beside[-1], 1)
    so = Phrase(
        (TIED if quantity.key == "tie_length" else LIES)[side],
        {
            "name": quantity.name,
            "unit": quantity.unit,
            "count_name": counted(len(beside)),
            "n_name": counted(len(last)),
            "low": low,
            "high": high,
        },
    )
    ground = {
        "n": len(values),
        "low": round(far - half, 1),
        "high": round(far + half, 1),
        "unit": quantity.unit,
    }
    said = Sentence(
        manner=Manner.STATE,
        topic=Topic.OFFSET,
        about=quantity.key,
        student=of.student,
        text=Phrase(ON_EVERY_STAPLE if _on_every_staple(of, values, side) else OR_THE_HAND, {"so": so}),
        ground=Phrase(OFFSET_GROUND, ground),
        chance=p,
        offset=round(median(one.value for one in values) * 2) / 2 or side * 0.5,
    )
    return [said]


class _Middle(NamedTuple):
    """The mean over a hand's sittings, its standard uncertainty, and the freedom that has (Student's t).

    SciPy takes a third of a second to import: only who opens a term pays for it.
    """

    mean: float
    u: float
    free: int

    @property
    def half(self) -> float:
        """Half its 95 % interval."""
        from scipy.special import stdtrit

        return float(stdtrit(self.free, 0.975)) * self.u

    @property
    def chance(self) -> float:
        """How often it would lie as far from 0 if the true one were 0."""
        from scipy.special import stdtr

        return 2 * float(stdtr(self.free, -abs(self.mean) / self.u))


def _middle(values: Sequence[Value]) -> _Middle:
    by_day: dict[object, list[float]] = defaultdict(list)
    for one in values:
        by_day[one.day].append(one.value)
    means = [math.fsum(of_day) / len(of_day) for of_day in by_day.values()]
    mean, free = math.fsum(means) / len(means), len(means) - 1
    variance = math.fsum((one - mean) ** 2 for one in means) / free
    u = math.sqrt(variance + (math.fsum([one.u for one in values]) / len(values)) ** 2 / 12) / math.sqrt(
        len(means)
    )
    return _Middle(mean, u, free)


def _on_every_staple(of: OfStudent, values: Sequence[Value], side: int) -> bool:
    by: dict[float, list[float]] = defaultdict(list)
    for one in values:
        staple = of.staples.get(one.reed)
        if staple is not None:
            by[staple].append(one.value * side)
    return len(by) > 1 and all(median(of_it) >= LEAST_MM for of_it in by.values())


def _moved(of: OfStudent, quantity: Quantity, values: Sequence[Value], page: Page) -> Question:
    """Whether the numbers went up or down beside their aim over the term."""
    way, p = chance([(later([one.value for one in values]), sittings(one.day for one in values))])
    return Question(p, lambda: _went(of, quantity, values, page, (way, p)))


def _went(
    of: OfStudent, quantity: Quantity, values: Sequence[Value], page: Page, found: tuple[float, float]
) -> list[Sentence]:
    """From where to where; nothing where the ends do not bear it out."""
    way, p = found
    first, last = thirds(values)
    ends = [round(fmean(one.value for one in part), quantity.decimals) for part in (first, last)]
    if (ends[1] - ends[0]) * way <= 0:
        return []
    places = {
        "name": quantity.name,
        "first": _beside(ends[0], quantity),
        "last": _beside(ends[1], quantity),
        "then": when([one.day for one in first]),
        "now": when([one.day for one in last], page.runs),
    }
    said = Sentence(
        manner=Manner.CHANGE,
        topic=Topic.AIM,
        about=quantity.key,
        student=of.student,
        text=Phrase(MOVED, places),
        ground=Phrase(MOVED_GROUND, {"first_n": len(first), "last_n": len(last), "n": len(values)}),
        chance=p,
    )
    return [said]


def _beside(value: float, quantity: Quantity) -> Phrase:
    side = (value > 0) - (value < 0)
    return Phrase(BESIDE[side], {"much": abs(value), "unit": quantity.unit})
