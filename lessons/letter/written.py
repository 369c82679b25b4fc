"""What is offered for a letter, and what its teacher chose and wrote."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from lessons.letter.models import MAX_LINE, MAX_WORDS, MOST, MOST_PICTURES
from reeds.photo.models.measuring import PhotoMeasuring
from studio.errors import NotPossible


@dataclass(frozen=True)
class Candidate:
    """One reed's measured photo, with what would stand beside it."""

    measuring: PhotoMeasuring
    caption: str
    is_proposed: bool

    @property
    def photo(self) -> int:
        return self.measuring.photo_id


@dataclass(frozen=True)
class Picture:
    """A photo chosen for a letter, and what stands beside it."""

    photo: int
    caption: str


@dataclass(frozen=True)
class Written:
    """All that a teacher chose and wrote."""

    sentences: Sequence[str] = ()
    comes_back: Sequence[str] = ()
    agreed: Sequence[str] = ()
    words: str = ""
    next_aim: str = ""
    pictures: Sequence[Picture] = field(default_factory=tuple)

    def check(self) -> None:
        """Raise NotPossible if it is more than a letter holds."""
        lines = [line for kind in MOST for line in getattr(self, kind)]
        too_many = any(len(getattr(self, kind)) > most for kind, most in MOST.items())
        too_long = len(self.words) > MAX_WORDS or any(len(one) > MAX_LINE for one in (*lines, self.next_aim))
        if too_many or too_long or len(self.pictures) > MOST_PICTURES:
            raise NotPossible(_("This is more than a letter of one sheet holds. Leave some of it out."))
