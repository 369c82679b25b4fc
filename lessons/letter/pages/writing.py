"""The page on which a letter is written: what stands in it, and what else the term proposes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

from django.http import QueryDict

from lessons.letter.forms import NAMES, LetterForm, Line
from lessons.letter.models import MOST, Letter, LetterQuerySet
from lessons.letter.written import Candidate
from studio.asked import row_numbers
from studio.models import Member, Term
from studio.reading import written_for


@dataclass(frozen=True)
class Group:
    """The lines of one kind, each with its number, and the numbers of the empty ones at the end."""

    kind: str
    name: str
    most: int
    rows: list[tuple[int, Line]]
    own: list[int]
    wrong: list[str]


class Proposed(Protocol):
    """What the term's rows have to say: `Proposals`, which this module knows not of."""

    @property
    def candidates(self) -> list[Candidate]: ...
    def lines(self, kind: str) -> list[str]: ...
    def picked(self, kind: str) -> list[str]: ...


class Writing:
    """A student's letter of a term as its teacher writes it."""

    def __init__(self, asking: Member, student: Member, term: Term, proposed: Proposed) -> None:
        self.asking, self.student, self.term, self.proposed = asking, student, term, proposed

    @cached_property
    def draft(self) -> Letter | None:
        """The open draft, if there is one."""
        return self._letters.drafts().first()

    @cached_property
    def given(self) -> Letter | None:
        """The newest version that was given."""
        return self._letters.given().first()

    @property
    def _letters(self) -> LetterQuerySet:
        return Letter.objects.visible_to(self.asking).of(self.student, self.term).select_related("voice__by")

    @property
    def begins_with(self) -> Letter | None:
        """Whose text the page shows: the draft's once it was kept, else the last given version's."""
        return self.draft if self.draft and self.draft.saved_at else self.given

    @property
    def since(self) -> str:
        """When the draft was kept last, as the page hands it back."""
        return self.draft.saved_at.isoformat() if self.draft and self.draft.saved_at else ""

    @property
    def candidates(self) -> list[Candidate]:
        with written_for(self.student.person):
            return self.proposed.candidates

    def form(self, data: QueryDict | None = None) -> LetterForm:
        """Return the form, filled with what the page begins with."""
        letter = self.begins_with
        if letter:
            pictures = list(letter.pictures.values_list("photo", flat=True))
            texts = {"words": letter.words, "next_aim": letter.next_aim}
        else:
            pictures, texts = [one.photo for one in self.candidates if one.is_proposed], {}
        initial = {kind: self._lines(kind) for kind in MOST} | texts | {"pictures": pictures}
        return LetterForm(self.candidates, data, initial=initial)

    def _lines(self, kind: str) -> list[Line]:
        """What stands in the letter, ticked; then what else is proposed. Of a new one the first are.

        What is proposed is in the language of whose letter it is.
        """
        letter = self.begins_with
        with written_for(self.student.person):
            proposed = self.proposed.lines(kind)
            kept = getattr(letter, kind) if letter else self.proposed.picked(kind)
        others = [text for text in proposed if text not in kept]
        return [Line(text, kept=True) for text in kept] + [Line(text, kept=False) for text in others]

    def chosen(self, form: LetterForm) -> set[int]:
        """Return the photos that are ticked, as the form holds them."""
        return set(row_numbers(str(one) for one in form["pictures"].value() or []))

    def groups(self, form: LetterForm) -> list[Group]:
        """Return the lines to choose from, as the form holds them."""
        return [self._group(kind, form) for kind in MOST]

    def _group(self, kind: str, form: LetterForm) -> Group:
        rows = [line for line in form[kind].value() if line.text]
        own = [len(rows), len(rows) + 1]
        return Group(
            kind,
            str(NAMES[kind]),
            MOST[kind],
            list(enumerate(rows)),
            own,
            [str(error) for error in form[kind].errors],
        )
