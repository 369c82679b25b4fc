"""For the one who made the reeds: of each length one sentence, whether it became steadier."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from lessons.term.lookback.about_evenness import lengths
from lessons.term.lookback.evenness import WITHIN, Evenness
from lessons.term.lookback.of_student import OfStudent, Value
from lessons.term.lookback.questions import Page, thirds
from lessons.term.lookback.sentence import Manner, Phrase, Sentence, Topic, when
from reeds.numbers.words import gettext_noop as _

STEADIER = _(
    "Steadier: your %(name)s lies within %(last)s %(unit)s %(now)s, %(first)s %(unit)s %(then)s;"
    " %(last_n)s and %(first_n)s reeds."
)
LESS = _(
    "Less steady: your %(name)s lies within %(last)s %(unit)s %(now)s, %(first)s %(unit)s %(then)s;"
    " %(last_n)s and %(first_n)s reeds."
)
NOT_YET = _(
    "Not yet: your %(name)s lies within %(last)s %(unit)s %(now)s, %(first)s %(unit)s %(then)s,"
    " which may still be chance; %(last_n)s and %(first_n)s reeds."
)


def each_length(of: OfStudent, page: Page, said: Iterable[Sentence]) -> list[Sentence]:
    """Return one sentence for each length with reeds enough to ask, what changed first.

    Parameters
    ----------
    of : OfStudent
        One student's term.
    page : Page
        Names, and whether the term still runs.
    said : iterable of Sentence
        What may be said of the term: only what is among it is called steadier, or less steady.
    """
    changed = {one.about: one for one in said if one.topic is Topic.EVENNESS and one.about}
    told = [_told(of, key, values, page, changed.get(key)) for key, values in lengths(of, page).items()]
    return sorted((one for one in told if one), key=lambda one: one.manner is Manner.UNSAID)


def too_coarse(of: OfStudent, page: Page) -> list[str]:
    """Return the lengths in which the reeds differ no more than measuring does, early or late."""
    found = {key: of.even(key) for key in lengths(of, page)}
    return [key for key, it in found.items() if it is not None and not it.can_tell]


def _told(
    of: OfStudent, key: str, values: Sequence[Value], page: Page, changed: Sentence | None
) -> Sentence | None:
    it = of.even(key)
    if it is None or not it.can_tell:
        return None
    places = {**_places(it, values, page.runs), "name": page.known[key].name, "unit": page.known[key].unit}
    if changed is not None:
        falls = (it.last.own or 0.0) < (it.first.own or 0.0)
        return replace(changed, text=Phrase(STEADIER if falls else LESS, places))
    text = Phrase(NOT_YET, places)
    return Sentence(manner=Manner.UNSAID, topic=Topic.EVENNESS, about=key, student=of.student, text=text)


def _places(it: Evenness, values: Sequence[Value], runs: bool) -> Mapping[str, object]:
    """What fills the words: within what about 19 in 20 lie, of how many reeds, and when."""
    first, last = thirds(values)
    return {
        "first": round(WITHIN * (it.first.own or 0.0), 1),
        "last": round(WITHIN * (it.last.own or 0.0), 1),
        "first_n": it.first.n,
        "last_n": it.last.n,
        "then": when([one.day for one in first]),
        "now": when([one.day for one in last], runs),
    }
