"""What is asked of a term: questions, each with the chance that nothing is behind it.

Each topic returns its questions; `sentences.py` decides which are answered.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from lessons.term.lookback.evenness import in_thirds
from lessons.term.lookback.of_student import Value
from lessons.term.lookback.sentence import Sentence
from reeds.numbers.quantity import Quantity

# a question of change is asked from here on; with fewer no order of them is rare enough. Own choice
FEWEST = 8
FEWEST_SITTINGS = 5


@dataclass(frozen=True)
class Question:
    """One question of a page.

    Attributes
    ----------
    chance : float
        How often chance alone would show as much, 0 to 1.
    answers : function
        Returns what is said if it may be answered yes; none where the figures do not bear it out.
    parts : function
        Returns the questions that are asked only where this one is answered yes; they are said in its place
        if any of them is answered yes too.
    """

    chance: float
    answers: Callable[[], Sequence[Sentence]] = tuple
    parts: Callable[[], Sequence[Question]] = tuple


@dataclass(frozen=True)
class Page:
    """What sentences need to know beside the rows: names of what they are about, and whether the term still
    runs."""

    known: Mapping[str, Quantity]
    names: Mapping[str, str]
    runs: bool

    def name(self, about: str) -> str:
        """Return the marked name of a quantity, a check or an item."""
        return self.known[about].name if about in self.known else self.names.get(about, about)


def any_of(questions: Sequence[Question]) -> Question:
    """Return the question whether any of these, at least one, is to be answered yes; they are its parts.

    Source
    ------
    Simes, Biometrika 73 (1986) 751-754, from memory.
    """
    if len(questions) == 1:
        return questions[0]
    ranked = sorted(question.chance for question in questions)
    simes = min(p * len(ranked) / rank for rank, p in enumerate(ranked, 1))
    return Question(simes, parts=lambda: questions)


def enough(values: Sequence[Value]) -> bool:
    """Whether there are reeds and sittings enough to ask at all: known before anything is seen."""
    return len(values) >= FEWEST and len({one.day for one in values}) >= FEWEST_SITTINGS


def thirds(values: Sequence[Value]) -> tuple[Sequence[Value], Sequence[Value]]:
    """Return the first and the last third of the reeds, in order of time."""
    first, _middle, last = in_thirds(values)
    return first, last
