"""Whether a hand works more evenly: over all its lengths together, then each."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from statistics import fmean

from lessons.term.lookback.about_aim import of_hand
from lessons.term.lookback.chance import Series, chance, sittings, wider_later
from lessons.term.lookback.evenness import WITHIN, Spreading, from_mean, in_thirds
from lessons.term.lookback.of_student import OfStudent, Value
from lessons.term.lookback.questions import Page, Question, enough, thirds
from lessons.term.lookback.sentence import Manner, Phrase, Sentence, Topic, when
from reeds.numbers.words import gettext_noop as _

EVEN = _("%(name)s: even within %(last)s %(unit)s %(now)s, %(first)s %(unit)s %(then)s.")
EVEN_GROUND = _(
    "About 19 in 20 lie as near to their middle, the doubt of measuring taken out. The last %(last_n)s reeds:"
    " %(last_low)s to %(last_high)s %(unit)s; the first %(first_n)s: %(first_low)s to %(first_high)s %(unit)s"
    " (95 %% intervals)."
)
STEADIER = _("The hand works more evenly %(now)s than %(then)s: its lengths lie nearer together.")
LESS_STEADY = _("The hand works less evenly %(now)s than %(then)s: its lengths lie further apart.")
HAND_GROUND = _(
    "%(count)s lengths on %(n)s reeds, taken together: in the last third they lie %(percent)s %% as far"
    " from their middle as in the first, as they were read."
)


def lengths(of: OfStudent, page: Page) -> dict[str, list[Value]]:
    """Return the lengths with an aim that are work of the hand and have reeds enough."""
    return {
        key: values
        for key, values in of.off_aim.items()
        if key in page.known and of_hand(page.known[key]) and enough(values)
    }


def asked(of: OfStudent, page: Page) -> list[Question]:
    """Return whether the hand got more even or less, if there is enough to ask of."""
    rows = lengths(of, page)
    if not rows:
        return []
    way, p = chance([together(rows)])
    return [
        Question(
            p,
            lambda: [_whole(of, rows, way, p, page)],
            lambda: [_part(of, key, values, page) for key, values in rows.items()],
        )
    ]


def together(rows: Mapping[str, Sequence[Value]]) -> Series:
    """Return what `chance` asks of these quantities together, reed by reed."""
    days: dict[int, dt.date] = {}
    for values in rows.values():
        for one in values:
            days[one.reed] = min(days.get(one.reed, one.day), one.day)
    order = sorted(days, key=lambda reed: (days[reed], reed))
    places = {reed: place for place, reed in enumerate(order)}
    grid = [[math.nan] * len(rows) for _ in order]
    for column, values in enumerate(rows.values()):
        for one, value in zip(values, _in_units_of_spread(values), strict=True):
            grid[places[one.reed]][column] = value
    return wider_later(grid), sittings(days[reed] for reed in order)


def _in_units_of_spread(values: Sequence[Value]) -> list[float]:
    """Each number by the spread it would have if nothing changed: a caliper bought in the term steadies no
    hand."""
    thirds = in_thirds([one.value for one in values])
    apart = math.fsum(far * far for third in thirds for far in from_mean(third))
    own = max(apart / (len(values) - 3) - fmean([one.u * one.u for one in values]), 0.0)
    return [one.value / (math.sqrt(own + one.u * one.u) or 1.0) for one in values]


def _whole(of: OfStudent, rows: Mapping[str, Sequence[Value]], way: float, p: float, page: Page) -> Sentence:
    first, last = zip(*(thirds(values) for values in rows.values()), strict=True)
    return Sentence(
        manner=Manner.CHANGE,
        topic=Topic.EVENNESS,
        student=of.student,
        text=Phrase(
            LESS_STEADY if way > 0 else STEADIER,
            {
                "then": when([one.day for part in first for one in part]),
                "now": when([one.day for part in last for one in part], page.runs),
            },
        ),
        ground=Phrase(
            HAND_GROUND,
            {
                "count": len(rows),
                "n": len({one.reed for row in rows.values() for one in row}),
                "percent": round(100 * _as_far(rows)),
            },
        ),
        chance=p,
    )


def _as_far(rows: Mapping[str, Sequence[Value]]) -> float:
    """How far from their middle the numbers of the last third lie, as a share of those of the first."""
    thirds = [in_thirds(_in_units_of_spread(values)) for values in rows.values()]
    first, last = (fmean(abs(far) for of in thirds for far in from_mean(of[part])) for part in (0, 2))
    return last / max(first, 1e-9)


def _part(of: OfStudent, key: str, values: Sequence[Value], page: Page) -> Question:
    way, p = chance([together({key: values})])
    return Question(p, lambda: _even(of, key, values, page, (way, p)))


def _even(
    of: OfStudent, key: str, values: Sequence[Value], page: Page, found: tuple[float, float]
) -> list[Sentence]:
    """Within what it is even, early and late; nothing where the thirds do not bear it out."""
    way, p = found
    it = of.even(key)
    if it is None or not it.can_tell or (it.last.seen - it.first.seen) * way <= 0:
        return []
    first, last = thirds(values)
    said = Sentence(
        manner=Manner.CHANGE,
        topic=Topic.EVENNESS,
        about=key,
        student=of.student,
        text=Phrase(
            EVEN,
            {
                **_told("first", it.first),
                **_told("last", it.last),
                "name": page.known[key].name,
                "unit": page.known[key].unit,
                "then": when([one.day for one in first]),
                "now": when([one.day for one in last], page.runs),
            },
        ),
        ground=Phrase(
            EVEN_GROUND, {"unit": page.known[key].unit, **_told("first", it.first), **_told("last", it.last)}
        ),
        chance=p,
    )
    return [said]


def _told(which: str, of_it: Spreading) -> dict[str, object]:
    return {
        which: round(WITHIN * (of_it.own or 0.0), 1),
        f"{which}_n": of_it.n,
        f"{which}_low": round(WITHIN * of_it.low, 1),
        f"{which}_high": round(WITHIN * of_it.high, 1),
    }
