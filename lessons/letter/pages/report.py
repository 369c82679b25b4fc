"""The studio's report of a term: what is said, the figures, and each student in one row."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lessons.letter.pages.listed import OfStudent
from lessons.term.lookback.rates import Share, share
from lessons.term.lookback.rows import OPEN, PLAYED, ReedInTerm, Wait
from lessons.term.lookback.sentence import Sentence
from studio.models import Member

# so much and no more, so that it stays two pages
MOST_SAID = 8
MOST_STUDENTS = 44


@dataclass(frozen=True)
class StudentRow:
    """One student's term in numbers."""

    student: Member
    made: int
    rounds: int
    played: Share
    letter_given: dt.datetime | None


@dataclass(frozen=True)
class Spoken:
    """One sentence, and of whom; None for the studio."""

    student: Member | None
    sentence: Sentence


def student_rows(
    listed: Iterable[OfStudent], reeds: Iterable[ReedInTerm], waits: Iterable[Wait]
) -> list[StudentRow]:
    """Return each student who was there, in the order listed: by name, and no other."""
    outcomes = Counter((reed.student, reed.outcome) for reed in reeds)
    rounds = Counter(wait.student for wait in waits)
    return [_row(one, outcomes, rounds[one.student.pk]) for one in listed]


def _row(of: OfStudent, outcomes: Counter[tuple[int, str]], rounds: int) -> StudentRow:
    counts = {outcome: n for (student, outcome), n in outcomes.items() if student == of.student.pk}
    made, played = sum(counts.values()), counts.get(PLAYED, 0)
    given = of.given.given_at if of.given else None
    return StudentRow(of.student, made, rounds, share(played, made - counts.get(OPEN, 0)), given)


def spoken(told: Iterable[tuple[Member | None, Sequence[Sentence]]]) -> list[Spoken]:
    """Return the sentences of a studio's term with whom they are of."""
    return [Spoken(student, sentence) for student, sentences in told for sentence in sentences]


def first(rows: Sequence[object], most: int) -> dict[str, object]:
    """Return the first of some rows, and how many more there are."""
    return {"rows": rows[:most], "more": max(0, len(rows) - most)}
