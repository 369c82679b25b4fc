"""A letter as it is read, with how far its PDF is."""

from __future__ import annotations

from functools import cached_property

from lessons.letter.libraries import can_press
from lessons.letter.models import Letter, LetterQuerySet, PressState
from lessons.letter.sheet import LetterOnPaper
from studio.models import Member


class LetterPage:
    """What the page of one letter shows to the member who asks."""

    def __init__(self, letter: Letter, member: Member) -> None:
        self.letter, self.member = letter, member
        self.sheet = LetterOnPaper(letter)

    @cached_property
    def is_settled(self) -> bool:
        """Whether the worker is done with the letter as it stands, one way or the other."""
        done = (PressState.READY, PressState.FAILED)
        return self.letter.pdf_state in done and self.letter.pdf_of == self.sheet.mark

    @property
    def pdf_is_there(self) -> bool:
        """Whether there is a PDF of the letter as it stands: of what it showed before, none is served."""
        return self.is_settled and bool(self.letter.pdf)

    @property
    def refusal(self) -> str:
        """Why there is none, if the worker could not make it."""
        return self.letter.pdf_refusal if self.is_settled else ""

    @property
    def can_press(self) -> bool:
        return can_press()

    @property
    def versions(self) -> LetterQuerySet:
        """The other versions of the same letter that this member may read, the newest first."""
        letter = self.letter
        rows = Letter.objects.visible_to(self.member).filter(student=letter.student_id)
        same = rows.filter(starts_on=letter.starts_on, term_name=letter.term_name)
        return same.exclude(pk=letter.pk).order_by("-version")
