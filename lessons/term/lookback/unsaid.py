"""What cannot be said of a student's term, and why."""

from __future__ import annotations

from collections.abc import Collection

from lessons.term.lookback.about_aim import of_hand
from lessons.term.lookback.about_evenness import lengths
from lessons.term.lookback.of_student import OfStudent
from lessons.term.lookback.questions import FEWEST, Page
from lessons.term.lookback.sentence import Manner, Phrase, Sentence, Topic, counted
from reeds.numbers.words import gettext_noop as _

# reeds from which a change that matters is said four times in five: numbers of a length, reeds sent, reeds
# rated. Simulated: tests/accuracy/term.py
ENOUGH = {Topic.EVENNESS: 65, Topic.FINDING: 60, Topic.RATING: 75}
# so many more may still come in a term
FAR = 12

WHETHER = {
    Topic.EVENNESS: _("whether the hand works more evenly"),
    Topic.FINDING: _("whether a finding became more seldom"),
    Topic.RATING: _("whether the reeds play better"),
}
MATTERS = {
    Topic.EVENNESS: _("a spread halved"),
    Topic.FINDING: _("from every second reed to none"),
    Topic.RATING: _("rated one step higher"),
}
NOT_ASKED = _("Not enough reeds yet to ask %(whether)s: about %(more_name)s more.")
NOT_YET = _("Not enough reeds yet to say %(whether)s: about %(more_name)s more.")
ONLY_LARGE = _(
    "Asked %(whether)s: no change to be seen on %(n)s reeds, which show only a large one"
    " (%(matters)s: from about %(enough)s)."
)
NO_CHANGE = _("Asked %(whether)s: on %(n)s reeds no change is to be seen.")
CAUSE = _(
    "Whether it was the hand that changed, or the cane, the staples or the knife, these numbers do not tell."
    " What goes on from one sitting to the next looks like a change."
)
CANNOT_TELL = _(
    "%(name)s: what lies between the reeds is no more than the doubt of measuring, so that"
    " how even the hand is cannot be told. A finer tool would tell."
)


def unsaid(of: OfStudent, page: Page, said: Collection[Topic]) -> list[Sentence]:
    """Return for each topic of which no change is said why not."""
    made = [row for key, row in of.off_aim.items() if key in page.known and of_hand(page.known[key])]
    counts = {
        Topic.EVENNESS: max(map(len, made), default=0),
        Topic.FINDING: len(of.sent),
        Topic.RATING: len({one.reed for values in of.spoke.values() for one in values}),
    }
    rows = [_why_not(of, topic, n, page) for topic, n in counts.items() if n and topic not in said]
    return [*rows, *_drowned(of, page), *([_cause(of)] if said else [])]


def _why_not(of: OfStudent, topic: Topic, n: int, page: Page) -> Sentence:
    more = (FEWEST if n < FEWEST else ENOUGH[topic]) - n
    places = {"n": n, "enough": ENOUGH[topic], "more_name": counted(max(more, 0))}
    places |= {"whether": Phrase(WHETHER[topic]), "matters": Phrase(MATTERS[topic])}
    text = Phrase(NOT_ASKED if n < FEWEST else _asked_in_vain(more, page), places)
    return Sentence(manner=Manner.UNSAID, topic=topic, student=of.student, text=text)


def _asked_in_vain(more: int, page: Page) -> str:
    if more <= 0:
        return NO_CHANGE
    return NOT_YET if page.runs and more <= FAR else ONLY_LARGE


def _cause(of: OfStudent) -> Sentence:
    return Sentence(manner=Manner.UNSAID, topic=Topic.REEDS, student=of.student, text=Phrase(CAUSE))


def _drowned(of: OfStudent, page: Page) -> list[Sentence]:
    """The lengths whose spread measuring alone would show."""
    rows = []
    for key in lengths(of, page):
        it = of.even(key)
        if it is not None and not it.first.can_tell and not it.last.can_tell:
            text = Phrase(CANNOT_TELL, {"name": page.known[key].name})
            rows.append(
                Sentence(manner=Manner.UNSAID, topic=Topic.EVENNESS, about=key, student=of.student, text=text)
            )
    return rows
