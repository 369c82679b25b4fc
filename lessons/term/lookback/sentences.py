"""The few sentences that may be said of a term, of which one in twenty is false at most."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lessons.term.lookback import about_aim, about_evenness, about_findings, about_ratings, of_studio
from lessons.term.lookback.chance import FALSE_IN, said_by
from lessons.term.lookback.of_student import OfStudent, RowsOfTerm, of_students
from lessons.term.lookback.questions import Page, Question, any_of
from lessons.term.lookback.rows import GIVEN_UP, OPEN, PLAYED
from lessons.term.lookback.sentence import Manner, Phrase, Sentence, Topic, counted
from lessons.term.lookback.unsaid import unsaid
from reeds.numbers.words import gettext_noop as _

TOPICS = (
    about_evenness.asked,
    about_ratings.asked,
    about_findings.asked,
    about_aim.moved,
    about_aim.beside,
)

MADE = _(
    "%(n_name)s reeds made: %(played_name)s came to play, %(given_up_name)s given up,"
    " %(open_name)s still on the way."
)


@dataclass(frozen=True)
class Said:
    """What may be said of a term, changes first, and what may not; `of` is what was asked of."""

    sentences: list[Sentence]
    unsaid: list[Sentence]
    of: Sequence[OfStudent] = ()


def sentences(rows: RowsOfTerm, page: Page, asks_for_a_number: frozenset[str] = frozenset()) -> Said:
    """Return what may be said of one student's term.

    Parameters
    ----------
    rows : RowsOfTerm
        One student's.
    page : Page
        Names, and whether the term still runs.
    asks_for_a_number : set of str
        Outcomes of findings that are no fault of the reed.

    Where nothing changed at all, a change is said of at most one term in twenty, whatever is asked: see
    `said_by`. What is counted (reeds made, what comes back) claims nothing beyond the count.
    """
    told, why_not = [], []
    students = of_students(rows, asks_for_a_number)
    for of in students:
        answered = answers(_asked(of, page))
        told += [*_made(of), *answered, *_coming_back(of, page, answered)]
        why_not += unsaid(of, page, {said.topic for said in answered if said.manner is Manner.CHANGE})
    return Said(told, why_not, students)


def studio_sentences(rows: RowsOfTerm, page: Page, asks_for_a_number: frozenset[str] = frozenset()) -> Said:
    """Return what may be said on one page of a whole studio: of each student and of all together.

    Over so many questions chance finds more, so each must be clearer than on the student's own page.
    """
    students = of_students(rows, asks_for_a_number)
    asked = [question for of in students for question in _asked(of, page)]
    return Said(answers([*of_studio.asked(students, page), *asked]), [])


def _asked(of: OfStudent, page: Page) -> list[Question]:
    """One question a topic: whether anything is to be said of it, and only then what."""
    return [any_of(questions) for topic in TOPICS if (questions := topic(of, page))]


def answers(asked: Sequence[Question], false_in: float = FALSE_IN) -> list[Sentence]:
    """Return the sentences of the questions that may be answered yes, their parts in place of them where any
    may.

    Source
    ------
    Parts are judged at `false_in` times the share of questions answered yes: Benjamini and Bogomolov,
    Journal of the Royal Statistical Society B 76 (2014) 297-318, from memory.
    """
    yes = said_by([question.chance for question in asked], false_in)
    chosen = [question for question, may in zip(asked, yes, strict=True) if may]
    within = false_in * len(chosen) / max(len(asked), 1)
    return [said for question in chosen for said in _told(question, within)]


def _told(question: Question, false_in: float) -> Sequence[Sentence]:
    return answers(question.parts(), false_in) or question.answers()


def _coming_back(of: OfStudent, page: Page, answered: Iterable[Sentence]) -> list[Sentence]:
    """What comes back, unless more is said of it already."""
    spoken_of = {said.about for said in answered}
    return [said for said in about_findings.returning(of, page) if said.about not in spoken_of]


def _made(of: OfStudent) -> list[Sentence]:
    if len(of.reeds) < 2:
        return []
    counts = Counter(row.outcome for row in of.reeds)
    names = {"played_name": PLAYED, "given_up_name": GIVEN_UP, "open_name": OPEN}
    places = {name: counted(counts[outcome]) for name, outcome in names.items()}
    text = Phrase(MADE, {"n_name": counted(len(of.reeds)), **places})
    return [Sentence(manner=Manner.FACT, topic=Topic.REEDS, student=of.student, text=text)]
