"""The studio's own questions of change: within each student, added up over all of them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

from lessons.term.lookback.about_evenness import lengths, together
from lessons.term.lookback.about_findings import FEWEST_REEDS, called, row_of, series
from lessons.term.lookback.about_ratings import overall
from lessons.term.lookback.chance import FALSE_IN, Series, chance
from lessons.term.lookback.of_student import OfStudent, Value
from lessons.term.lookback.questions import Page, Question, enough, thirds
from lessons.term.lookback.sentence import Manner, Phrase, Sentence, Topic, When, when
from reeds.numbers.words import gettext_noop as _

# of fewer students nothing is said as of a studio
FEWEST_STUDENTS = 3

HANDS = {
    1: _("Over the studio the hands work less evenly %(now)s than %(then)s."),
    -1: _("Over the studio the hands work more evenly %(now)s than %(then)s."),
}
PLAYS = {
    1: _("Over the studio the reeds play better %(now)s than %(then)s, as their players rate them."),
    -1: _("Over the studio the reeds play less well %(now)s than %(then)s, as their players rate them."),
}
FOUND = {
    1: _(
        "Over the studio %(what)s: more often, %(first)s of the first %(first_n)s reeds"
        " and %(last)s of the last %(last_n)s."
    ),
    -1: _(
        "Over the studio %(what)s: more seldom, %(first)s of the first %(first_n)s reeds"
        " and %(last)s of the last %(last_n)s."
    ),
}
GROUND = _("Each of %(students)s students compared with themselves, %(n)s reeds in all.")
THIRDS_GROUND = _("Each student's first and last third, of %(students)s students and %(n)s reeds sent.")


def asked(students: Sequence[OfStudent], page: Page) -> list[Question]:
    """Return what is asked of a studio, where enough of its students have reeds enough."""
    return [*_hands(students, page), *_played(students, page), *_found(students, page)]


def _hands(students: Sequence[OfStudent], page: Page) -> list[Question]:
    rows = [there for of in students if (there := lengths(of, page))]
    each = [list(chain.from_iterable(there.values())) for there in rows]
    return _question(Topic.EVENNESS, HANDS, [together(there) for there in rows], each, page)


def _played(students: Sequence[OfStudent], page: Page) -> list[Question]:
    each = [row for of in students if enough(row := overall(of.spoke))]
    return _question(Topic.RATING, PLAYS, [series(row) for row in each], each, page)


def _of_several(asks: Sequence[Series]) -> tuple[float, float]:
    """Which way and by what chance, without the student who shows it clearest.

    One student's change is that student's: it is the studio's where the others show it too.

    Source
    ------
    Two changed at least: Benjamini and Heller, Biometrics 64 (2008) 1215-1222, from memory.
    """
    way, p = chance(asks)
    if p > FALSE_IN:
        return way, p
    alone = [chance([one])[1] for one in asks]
    clearest = alone.index(min(alone))
    return way, max(p, chance([one for place, one in enumerate(asks) if place != clearest])[1])


def _question(
    topic: Topic, words: dict[int, str], asks: Sequence[Series], each: Sequence[Sequence[Value]], page: Page
) -> list[Question]:
    if len(each) < FEWEST_STUDENTS:
        return []
    way, p = _of_several(asks)
    return [Question(p, lambda: _of_all(topic, words, each, page, (way, p)))]


def _of_all(
    topic: Topic,
    words: dict[int, str],
    each: Sequence[Sequence[Value]],
    page: Page,
    found: tuple[float, float],
) -> list[Sentence]:
    way, p = found
    text = Phrase(words[1 if way > 0 else -1], _ends(each, page))
    ground = {"students": len(each), "n": len({(at, one.reed) for at, row in enumerate(each) for one in row})}
    return [Sentence(manner=Manner.CHANGE, topic=topic, text=text, ground=Phrase(GROUND, ground), chance=p)]


def _ends(each: Sequence[Sequence[Value]], page: Page) -> dict[str, When]:
    """When the first and the last third of all of them were."""
    ends = [thirds(sorted(row, key=lambda one: one.day)) for row in each]
    first, last = ([one.day for pair in ends for one in pair[end]] for end in (0, 1))
    return {"then": when(first), "now": when(last, page.runs)}


def _found(students: Sequence[OfStudent], page: Page) -> list[Question]:
    """Each kind of finding that enough students have, on some of their reeds and not on all."""
    found = []
    for kind in sorted({kind for of in students for kind in of.kinds}):
        rows = [row_of(of, kind) for of in students]
        each = [row for row in rows if enough(row) and 0 < sum(one.value for one in row) < len(row)]
        if len(each) >= FEWEST_STUDENTS and sum(one.value for row in each for one in row) >= FEWEST_REEDS:
            found.append(_changed(kind, each, page))
    return found


def _changed(kind: tuple[str, str], each: Sequence[Sequence[Value]], page: Page) -> Question:
    way, p = _of_several([series(row) for row in each])
    return Question(p, lambda: _how(kind, each, page, (way, p)))


def _how(
    kind: tuple[str, str], each: Sequence[Sequence[Value]], page: Page, found: tuple[float, float]
) -> list[Sentence]:
    way, p = found
    ends = [[one for row in each for one in thirds(row)[end]] for end in (0, 1)]
    first, last = (int(sum(one.value for one in part)) for part in ends)
    if (last / len(ends[1]) - first / len(ends[0])) * way <= 0:
        return []
    places = {"what": called(*kind, page), "first": first, "last": last}
    places |= {"first_n": len(ends[0]), "last_n": len(ends[1])}
    said = Sentence(
        manner=Manner.CHANGE,
        topic=Topic.FINDING,
        about=kind[0],
        text=Phrase(FOUND[1 if way > 0 else -1], places),
        ground=Phrase(THIRDS_GROUND, {"students": len(each), "n": sum(map(len, each))}),
        chance=p,
    )
    return [said]
