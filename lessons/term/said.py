"""What may be said of a term: for the term page and for the letter."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.utils import timezone

from lessons.term.lookback.questions import Page
from lessons.term.lookback.sentence import Sentence
from lessons.term.lookback.sentences import Said, sentences, studio_sentences
from lessons.term.rows import TermRows
from lessons.term.wording import in_words as in_words  # beside what it words
from reeds.checks.findings import Outcome
from reeds.checks.registry import CHECKS
from reeds.numbers.words import PLAYING_TEST
from studio.models import Member, Term

ASKS_FOR_A_NUMBER = frozenset({Outcome.TOO_CLOSE.value, Outcome.MISSING.value})
# of each student on the studio's page; all of it stands on their own
MOST = 3


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


@dataclass(frozen=True)
class ToldOnPage:
    """What stands at the head of a term's page; of the `silent` students nothing is sure enough for it."""

    of: list[Told]
    silent: list[Member]


def told(rows: TermRows, students: Iterable[Member]) -> ToldOnPage:
    """Return what a term's page says: of the student it is of, or of the studio and of each of `students`."""
    if rows.student is not None:
        it = said_of(rows.term, rows.asking, rows.student, rows)
        return ToldOnPage([Told(rows.student, it.sentences, it.unsaid)], [])
    by: dict[int | None, list[Sentence]] = defaultdict(list)
    for one in said_of_studio(rows.term, rows.asking, rows).sentences:
        by[one.student].append(one)
    of_each = [Told(one, by[one.pk][:MOST], []) for one in students]
    there = [one for one in of_each if one.sentences]
    silent = [one.student for one in of_each if one.student and not one.sentences]
    return ToldOnPage([Told(None, by[None], []), *there], silent)


def _page(rows: TermRows) -> Page:
    names = {**{check.key: check.name for check in CHECKS}, **PLAYING_TEST}
    return Page(rows.known, names, rows.term.ends_on >= timezone.localdate(timezone=rows.term.studio.zone))
