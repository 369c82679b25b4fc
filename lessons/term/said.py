"""What may be said of a term, in the reader's words: for the term page and for the letter."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.utils import timezone
from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _

from lessons.term.lookback.questions import Page
from lessons.term.lookback.sentence import Phrase, Sentence, When
from lessons.term.lookback.sentences import Said, sentences, studio_sentences
from lessons.term.rows import TermRows
from reeds.checks.findings import Outcome
from reeds.checks.registry import CHECKS
from reeds.numbers.words import PLAYING_TEST, inside
from studio.models import Member, Term

ASKS_FOR_A_NUMBER = frozenset({Outcome.TOO_CLOSE.value, Outcome.MISSING.value})


def said_of(term: Term, asking: Member, student: Member, rows: TermRows | None = None) -> Said:
    """Return what may be said of one student's term; `rows` where the caller has gathered them already."""
    gathered = rows or TermRows(term, asking, student)
    return sentences(gathered, _page(gathered), ASKS_FOR_A_NUMBER)


def said_of_studio(term: Term, asking: Member, rows: TermRows | None = None) -> Said:
    """Return what may be said of the studio and of each of its students on one page."""
    gathered = rows or TermRows(term, asking)
    return studio_sentences(gathered, _page(gathered), ASKS_FOR_A_NUMBER)


@dataclass(frozen=True)
class Told:
    """What a page says of one student, or of the whole studio where `student` is None."""

    student: Member | None
    sentences: list[Sentence]
    unsaid: list[Sentence]


def told(rows: TermRows, students: Iterable[Member]) -> list[Told]:
    """Return what a term's page says: of the student it is of, or of the studio and of each of `students`."""
    if rows.student is not None:
        it = said_of(rows.term, rows.asking, rows.student, rows)
        return [Told(rows.student, it.sentences, it.unsaid)]
    by: dict[int | None, list[Sentence]] = defaultdict(list)
    for one in said_of_studio(rows.term, rows.asking, rows).sentences:
        by[one.student].append(one)
    there = [Told(one, by[one.pk], []) for one in students if one.pk in by]
    return [Told(None, by[None], []), *there] if by[None] else there


def _page(rows: TermRows) -> Page:
    names = {**{check.key: check.name for check in CHECKS}, **PLAYING_TEST}
    return Page(rows.known, names, rows.term.ends_on >= timezone.localdate(timezone=rows.term.studio.zone))


def in_words(phrase: Phrase) -> str:
    """Return a phrase in the reader's language, months and numbers in their way; '' for an empty one."""
    text = _inside(phrase)
    return text[:1].upper() + text[1:]


def _inside(phrase: Phrase) -> str:
    places = {key: _worded(value) for key, value in phrase.params.items()}
    return inside(phrase.message, places, _, number_format)


def _worded(value: object) -> object:
    if isinstance(value, Phrase):
        return _inside(value)
    return months(value) if isinstance(value, When) else value


def months(days: When) -> str:
    """Return 'now', 'in September', 'in September and October' or 'from September to November'."""
    if days.now:
        return _("now")
    first, last = _month(days.first), _month(days.last)
    apart = (days.last.year - days.first.year) * 12 + days.last.month - days.first.month
    if apart == 0:
        return _("in %(month)s") % {"month": first}
    words = _("in %(first)s and %(last)s") if apart == 1 else _("from %(first)s to %(last)s")
    return words % {"first": first, "last": last}


def _month(day: dt.date) -> str:
    return date_format(day, "F")
