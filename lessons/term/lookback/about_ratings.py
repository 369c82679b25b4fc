"""Whether the reeds played better, as their player rated them: over all items together, then each."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from statistics import fmean

from lessons.term.lookback.about_findings import series
from lessons.term.lookback.chance import chance
from lessons.term.lookback.of_student import OfStudent, Value
from lessons.term.lookback.questions import Page, Question, enough, thirds
from lessons.term.lookback.sentence import Manner, Phrase, Sentence, Topic, counted, when
from reeds.numbers.words import Speaks
from reeds.numbers.words import gettext_noop as _

SPOKE = _(
    "%(name)s: spoke mostly or at once on %(last_name)s of the last %(last_n_name)s reeds,"
    " on %(first_name)s of the first %(first_n_name)s."
)
RATED = _("%(name)s: rated %(last)s of 5 on average %(now)s, %(first)s %(then)s.")
BETTER = _("The reeds play better %(now)s than %(then)s, as their player rates them.")
WORSE = _("The reeds play less well %(now)s than %(then)s, as their player rates them.")
ITEM_GROUND = _("%(n)s reeds rated.")
GROUND = _(
    "The items together, on %(n)s reeds: %(first)s of 5 on average on the first third, %(last)s on the last."
)


def asked(of: OfStudent, page: Page) -> list[Question]:
    """Return whether the ratings rose or fell, if there is enough to ask of."""
    together = overall(of.spoke)
    if not enough(together):
        return []
    way, p = chance([series(together)])
    return [Question(p, lambda: _whole(of, together, way, p, page), lambda: _items(of, page))]


def overall(spoke: Mapping[str, Sequence[Value]]) -> list[Value]:
    """Return one number a reed: its items, each beside the mean of that item, and the mean of all added."""
    by: dict[int, list[float]] = defaultdict(list)
    day: dict[int, dt.date] = {}
    for values in spoke.values():
        mean = fmean([one.value for one in values])
        for one in values:
            by[one.reed].append(one.value - mean)
            day[one.reed] = max(day.get(one.reed, one.day), one.day)
    middle = fmean([one.value for values in spoke.values() for one in values] or [0.0])
    rows = [Value(reed, day[reed], middle + fmean(apart)) for reed, apart in by.items()]
    return sorted(rows, key=lambda one: (one.day, one.reed))


def _whole(of: OfStudent, values: Sequence[Value], way: float, p: float, page: Page) -> list[Sentence]:
    first, last = thirds(values)
    ends = [round(fmean(one.value for one in part), 1) for part in (first, last)]
    if (ends[1] - ends[0]) * way <= 0:
        return []
    places = {"then": when([one.day for one in first]), "now": when([one.day for one in last], page.runs)}
    said = Sentence(
        manner=Manner.CHANGE,
        topic=Topic.RATING,
        student=of.student,
        text=Phrase(BETTER if way > 0 else WORSE, places),
        ground=Phrase(GROUND, {"n": len(values), "first": ends[0], "last": ends[1]}),
        chance=p,
    )
    return [said]


def _items(of: OfStudent, page: Page) -> list[Question]:
    return [_item(of, item, values, page) for item, values in of.spoke.items() if enough(values)]


def _item(of: OfStudent, item: str, values: Sequence[Value], page: Page) -> Question:
    way, p = chance([series(values)])
    return Question(p, lambda: _item_told(of, item, values, page, (way, p)))


def _item_told(
    of: OfStudent, item: str, values: Sequence[Value], page: Page, found: tuple[float, float]
) -> list[Sentence]:
    way, p = found
    text = _spoke(values, page.name(item), way) or _rated(values, page, page.name(item), way)
    if text is None:
        return []
    said = Sentence(
        manner=Manner.CHANGE,
        topic=Topic.RATING,
        about=item,
        student=of.student,
        text=text,
        ground=Phrase(ITEM_GROUND, {"n": len(values)}),
        chance=p,
    )
    return [said]


def _spoke(values: Sequence[Value], name: str, way: float) -> Phrase | None:
    """In reeds that spoke, where their count went the same way."""
    first, last = thirds(values)
    counts = [sum(one.value >= Speaks.MOSTLY for one in part) for part in (first, last)]
    if (counts[1] / len(last) - counts[0] / len(first)) * way <= 0:
        return None
    places = {"name": name, "first_name": counted(counts[0]), "last_name": counted(counts[1])}
    places |= {"first_n_name": counted(len(first)), "last_n_name": counted(len(last))}
    return Phrase(SPOKE, places)


def _rated(values: Sequence[Value], page: Page, name: str, way: float) -> Phrase | None:
    first, last = thirds(values)
    ends = [round(fmean(one.value for one in part), 1) for part in (first, last)]
    if (ends[1] - ends[0]) * way <= 0:
        return None
    places: dict[str, object] = {"name": name, "first": ends[0], "last": ends[1]}
    places |= {"then": when([one.day for one in first]), "now": when([one.day for one in last], page.runs)}
    return Phrase(RATED, places)
