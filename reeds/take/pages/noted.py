"""What is said of passages of takes; another app registers how, so that reeds need not know of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from django.utils.formats import number_format

from reeds.take.models import Take
from reeds.take.sound.picture import PictureScale
from studio.models import Member

CLOCK = 60.0


@dataclass(frozen=True)
class Passage:
    """A stretch of a take with words: seconds from its beginning, a number that names it on its picture."""

    number: int
    start_s: float
    end_s: float
    words: str = ""
    key: str = ""
    by: str = ""

    @property
    def when(self) -> str:
        """From when to when, as a clock shows it."""
        return f"{_clock(self.start_s)} – {_clock(self.end_s)}"


def _clock(seconds: float) -> str:
    minutes, within = divmod(round(seconds, 1), CLOCK)
    tenths = number_format(f"{within:.1f}")
    return f"{int(minutes)}:{tenths:0>4}"


@dataclass(frozen=True)
class Noted:
    """The passages of one take, and the small template that shows `what` else belongs to them."""

    passages: Sequence[Passage] = field(default_factory=list)
    template: str = ""
    what: object = None


@dataclass(frozen=True)
class PassageDrawn:
    """Where a passage lies on the picture."""

    number: int
    left: float
    width: float


def drawn_passages(passages: Iterable[Passage], scale: PictureScale) -> list[PassageDrawn]:
    """Return where passages lie at a picture's scale, x and width in its units."""
    ends = [(one.number, scale.x(one.start_s), scale.x(one.end_s)) for one in passages]
    return [PassageDrawn(number, left, round(max(right - left, 1.0), 2)) for number, left, right in ends]


Annotator = Callable[[Sequence[Take], Member], Mapping[int, Noted]]
_ANNOTATORS: list[Annotator] = []


def register_annotator(annotator: Annotator) -> Annotator:
    """Let what lies above say something of takes; an app calls it when it is ready. Twice is as once."""
    if annotator not in _ANNOTATORS:
        _ANNOTATORS.append(annotator)
    return annotator


def noted(takes: Sequence[Take], member: Member) -> dict[int, Noted]:
    """Return what this member may read of takes, by their keys."""
    return {pk: one for annotator in _ANNOTATORS for pk, one in annotator(takes, member).items()}
