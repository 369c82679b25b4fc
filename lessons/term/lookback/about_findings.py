"""Which findings ended, came, or come back: of the reeds sent, in the order in which they were sent."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from lessons.term.lookback.chance import Series, chance, later, sittings
from lessons.term.lookback.of_student import OfStudent, Value
from lessons.term.lookback.questions import Page, Question, enough, thirds
from lessons.term.lookback.sentence import Manner, Phrase, Sentence, Topic, counted, when
from reeds.numbers.words import gettext_noop as _

# a finding on fewer reeds, or on all but as many, cannot be shown to have changed
FEWEST_REEDS = 3
# what is on fewer of the reeds sent is not said to come back; own choice
OFTEN = 1 / 8

# how people call what is found most often; everything else by its name and how it came out
CALLED = {
    ("airtight", "differs"): _("leaks"),
    ("closing", "differs"): _("one side closing before the other"),
    ("unevenness", "above"): _("one side more open than the other"),
    ("unevenness", "below"): _("one side more open than the other"),
    ("tie_length", "above"): _("tied too long"),
    ("tie_length", "below"): _("tied too short"),
    ("thread_past_staple", "above"): _("thread past the end of the staple"),
    ("thread_past_staple", "below"): _("thread short of the end of the staple"),
    ("crow", "below"): _("a crow that speaks seldom or not"),
    ("low_notes", "below"): _("low notes that speak seldom or not"),
    ("staccato", "below"): _("a slow staccato"),
    ("third_octave", "below"): _("a third octave that speaks seldom or not"),
    ("long_tone", "below"): _("a long tone that speaks seldom or not"),
    ("tuning", "below"): _("a tuning note that speaks seldom or not"),
}
OTHERWISE = {
    "above": _("%(name)s over the limit"),
    "below": _("%(name)s under the limit"),
    "contradiction": _("%(name)s: numbers that contradict each other"),
    "differs": _("%(name)s not as it should be"),
}
ENDED = _("%(what)s: %(count_name)s %(then)s, none since.")
ENDED_GROUND = _(
    "On %(count)s of the %(first_n)s reeds sent up to then, on none of the %(last_n)s sent after."
)
FEWER = _(
    "%(what)s: more seldom. %(first_name)s of the first %(first_n)s reeds sent,"
    " %(last_name)s of the last %(last_n)s."
)
MORE = _(
    "%(what)s: more often. %(first_name)s of the first %(first_n)s reeds sent,"
    " %(last_name)s of the last %(last_n)s."
)
COUNTED = _("%(n)s reeds were sent, %(count)s with it.")
RETURNS = _("Comes back: %(what)s, on %(count)s of the %(n)s reeds sent.")
RETURNS_GROUND = _("The first %(then)s, the last %(now)s.")


def called(about: str, outcome: str, page: Page) -> Phrase:
    """Return how a kind of finding is called in a sentence."""
    if (about, outcome) in CALLED:
        return Phrase(CALLED[about, outcome])
    return Phrase(OTHERWISE.get(outcome, OTHERWISE["differs"]), {"name": page.name(about)})


def row_of(of: OfStudent, kind: tuple[str, str]) -> list[Value]:
    """Return 1 for each reed sent that had it and 0 for each that had not, in the order they were sent."""
    with_it = of.kinds.get(kind, frozenset())
    return [Value(row.reed, row.at.date(), float(row.reed in with_it)) for row in of.sent]


def series(values: Sequence[Value]) -> Series:
    """Return what `chance` asks of them: whether they rise."""
    return later([one.value for one in values]), sittings(one.day for one in values)


def asked(of: OfStudent, page: Page) -> list[Question]:
    """Return whether each kind of finding changed that is there on reeds enough, and not on all."""
    found = []
    for kind in of.kinds:
        values = row_of(of, kind)
        count = int(sum(one.value for one in values))
        if enough(values) and FEWEST_REEDS <= count <= len(values) - FEWEST_REEDS:
            found.append(_changed(of, kind, values, page))
    return found


def _changed(of: OfStudent, kind: tuple[str, str], values: Sequence[Value], page: Page) -> Question:
    way, p = chance([series(values)])
    return Question(p, lambda: _how(of, kind, values, page, (way, p)))


def _how(
    of: OfStudent, kind: tuple[str, str], values: Sequence[Value], page: Page, found: tuple[float, float]
) -> list[Sentence]:
    way, p = found
    what = called(*kind, page)
    text, ground = _ended(values, what) or (_often(values, what, way), None)
    if text is None:
        return []
    told = {"n": len(values), "count": int(sum(one.value for one in values))}
    said = Sentence(
        manner=Manner.CHANGE,
        topic=Topic.FINDING,
        about=kind[0],
        student=of.student,
        text=text,
        ground=ground or Phrase(COUNTED, told),
        chance=p,
    )
    return [said]


def _ended(values: Sequence[Value], what: Phrase) -> tuple[Phrase, Phrase] | None:
    """The words for what was not found in all of the last third, None where it was."""
    places = [place for place, one in enumerate(values) if one.value]
    after = len(values) - 1 - places[-1]
    if after < len(thirds(values)[1]):
        return None
    then = when([values[place].day for place in places])
    text = Phrase(ENDED, {"what": what, "count_name": counted(len(places)), "then": then})
    ground = {"count": len(places), "first_n": places[-1] + 1, "last_n": after}
    return text, Phrase(ENDED_GROUND, ground)


def _often(values: Sequence[Value], what: Phrase, way: float) -> Phrase | None:
    """The words for more or fewer in the last half than in the first, None where the halves do not bear it
    out."""
    half = len(values) // 2
    first, last = (int(sum(one.value for one in part)) for part in (values[:half], values[-half:]))
    if (last - first) * way <= 0:
        return None
    places = {"what": what, "first_n": half, "last_n": half}
    places |= {"first_name": counted(first), "last_name": counted(last)}
    return Phrase(MORE if way > 0 else FEWER, places)


def returning(of: OfStudent, page: Page, most: int = 2) -> list[Sentence]:
    """Return what comes back: on three reeds or more, over more than two weeks, and still in the last
    third."""
    rows = []
    for kind in of.kinds:
        values = row_of(of, kind)
        days = [one.day for one in values if one.value]
        late = any(one.value for one in thirds(values)[1])
        often = len(days) >= max(FEWEST_REEDS, OFTEN * len(values))
        if often and late and days[-1] - days[0] > dt.timedelta(days=14):
            rows.append((len(days), kind, _returns(of, kind, values, days, page)))
    rows.sort(key=lambda row: (-row[0], row[1]))
    return [said for _count, _kind, said in rows[:most]]


def _returns(
    of: OfStudent, kind: tuple[str, str], values: Sequence[Value], days: Sequence[dt.date], page: Page
) -> Sentence:
    return Sentence(
        manner=Manner.STATE,
        topic=Topic.FINDING,
        about=kind[0],
        student=of.student,
        text=Phrase(RETURNS, {"what": called(*kind, page), "count": len(days), "n": len(values)}),
        ground=Phrase(RETURNS_GROUND, {"then": when([days[0]]), "now": when([days[-1]])}),
    )
