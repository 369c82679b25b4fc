"""Whether a hand works more evenly: over all its lengths together, then each."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from lessons.term.lookback.about_aim import of_hand
from lessons.term.lookback.chance import Series, chance, sittings, wider_later
from lessons.term.lookback.evenness import WITHIN, Spreading, evenness, third_of
from lessons.term.lookback.of_student import OfStudent, Value
from lessons.term.lookback.questions import Page, Question, enough, thirds
from lessons.term.lookback.sentence import Manner, Phrase, Sentence, Topic, when
from reeds.numbers.late import np
from reeds.numbers.words import gettext_noop as _

if TYPE_CHECKING:
    from numpy.typing import NDArray

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
    whole = _whole(of, rows, way, p, page)
    return [Question(p, (whole,), lambda: [_part(of, key, row, page) for key, row in rows.items()])]


def together(rows: Mapping[str, Sequence[Value]]) -> Series:
    """Return what `chance` asks of these quantities together, reed by reed."""
    days: dict[int, dt.date] = {}
    for values in rows.values():
        for one in values:
            days[one.reed] = min(days.get(one.reed, one.day), one.day)
    order = sorted(days, key=lambda reed: (days[reed], reed))
    places = {reed: place for place, reed in enumerate(order)}
    grid = np.full((len(order), len(rows)), np.nan)
    for column, values in enumerate(rows.values()):
        grid[[places[one.reed] for one in values], column] = _in_units_of_spread(values)
    return wider_later(grid), sittings(days[reed] for reed in order)


def _in_units_of_spread(values: Sequence[Value]) -> NDArray[np.float64]:
    """Each number by the spread it would have if nothing changed: a caliper bought in the term steadies no
    hand."""
    row, u = np.array([one.value for one in values]), np.array([one.u for one in values])
    third = third_of(len(row))
    apart = np.concatenate([row[third == part] - row[third == part].mean() for part in range(3)])
    own = max(float((apart**2).sum()) / (len(row) - 3) - float((u**2).mean()), 0.0)
    spread = np.sqrt(own + u**2)
    return row / np.where(spread > 0, spread, 1.0)


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
    apart: list[list[float]] = [[], [], []]
    for values in rows.values():
        row, third = _in_units_of_spread(values), third_of(len(values))
        for part in (0, 2):
            here = row[third == part]
            apart[part] += list(np.abs(here - here.mean()))
    return float(np.mean(apart[2]) / max(float(np.mean(apart[0])), 1e-9))


def _part(of: OfStudent, key: str, values: Sequence[Value], page: Page) -> Question:
    way, p = chance([together({key: values})])
    it = evenness([one.value for one in values], [one.u for one in values])
    if it is None or not it.can_tell or (it.last.seen - it.first.seen) * way <= 0:
        return Question(p, ())
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
    return Question(p, (said,))


def _told(which: str, of_it: Spreading) -> dict[str, object]:
    return {
        which: round(WITHIN * (of_it.own or 0.0), 1),
        f"{which}_n": of_it.n,
        f"{which}_low": round(WITHIN * of_it.low, 1),
        f"{which}_high": round(WITHIN * of_it.high, 1),
    }
