"""What may be said of a term: for the term page and for the letter."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils import timezone

from lessons.term.lookback.of_student import OfStudent
from lessons.term.lookback.questions import Page
from lessons.term.lookback.sentence import Sentence
from lessons.term.lookback.sentences import Said, sentences, studio_sentences
from lessons.term.rows import TermRows
from lessons.term.wording import NAMES
from reeds.checks.findings import Outcome
from studio.models import Member, Term

ASKS_FOR_A_NUMBER = frozenset({Outcome.TOO_CLOSE.value, Outcome.MISSING.value})
# of each student on the studio's page; all of it stands on their own
MOST = 3


def said_of(term: Term, asking: Member, student: Member, rows: TermRows | None = None) -> Said:
    """Return what may be said of one student's term; `rows` where the caller has gathered them already."""
    gathered = rows or TermRows(term, asking, student)
    return sentences(gathered, page_of(gathered), ASKS_FOR_A_NUMBER)


def said_of_studio(term: Term, asking: Member, rows: TermRows | None = None) -> Said:
    """Return what may be said of the studio and of each of its students on one page."""
    gathered = rows or TermRows(term, asking)
    return studio_sentences(gathered, page_of(gathered), ASKS_FOR_A_NUMBER)


@dataclass(frozen=True)
class Told:
    """What a page says of one student, or of the whole studio where `student` is None.

    `of` is what was asked of, where it is one student's page.
    """

    student: Member | None
    sentences: list[Sentence]
    unsaid: list[Sentence]
    of: Sequence[OfStudent] = ()


def told(rows: TermRows, students: Iterable[Member]) -> list[Told]:
    """Return what a term's page says: of the student it is of, or of the studio and of each of `students`.

    Of the studio also that there is nothing to say; of its students only those of whom there is something.
    """
    if rows.student is not None:
        it = said_of(rows.term, rows.asking, rows.student, rows)
        return [Told(rows.student, it.sentences, it.unsaid, it.of)]
    by: dict[int | None, list[Sentence]] = defaultdict(list)
    for one in said_of_studio(rows.term, rows.asking, rows).sentences:
        by[one.student].append(one)
    return [Told(None, by[None], []), *(Told(one, by[one.pk][:MOST], []) for one in students if one.pk in by)]


def by_student(rows: Iterable[Told]) -> dict[int, list[Sentence]]:
    """Return what is said of each student, by their keys."""
    return {of.student.pk: of.sentences for of in rows if of.student}


def page_of(rows: TermRows) -> Page:
    """Return what sentences need to know beside the rows."""
    return Page(rows.known, NAMES, rows.term.ends_on >= timezone.localdate(timezone=rows.term.studio.zone))
