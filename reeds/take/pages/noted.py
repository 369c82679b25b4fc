"""What is said of passages of takes; another app says it by `noted_by`, so that reeds need not know of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from reeds.take.models import Take
from reeds.take.sound.picture import Scale
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
    minutes, rest = divmod(round(seconds, 1), CLOCK)
    return f"{int(minutes)}:{rest:04.1f}"


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


def drawn_passages(passages: Iterable[Passage], scale: Scale) -> list[PassageDrawn]:
    """Return where passages lie at a picture's scale, x and width in its units."""
    ends = [(one.number, scale.x(one.start_s), scale.x(one.end_s)) for one in passages]
    return [PassageDrawn(number, left, round(max(right - left, 1.0), 2)) for number, left, right in ends]


Source = Callable[[Sequence[Take], Member], Mapping[int, Noted]]
_SOURCES: list[Source] = []


def noted_by(source: Source) -> Source:
    """Add a source of what is said of takes; an app calls it when it is ready. Twice adds it once."""
    if source not in _SOURCES:
        _SOURCES.append(source)
    return source


def noted(takes: Sequence[Take], member: Member) -> dict[int, Noted]:
    """Return what this member may read of takes, by their keys."""
    return {pk: one for source in _SOURCES for pk, one in source(takes, member).items()}
