"""A sentence as data: marked words, what fills them, and how sure it is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from reeds.numbers.words import Labelled
from reeds.numbers.words import gettext_noop as _


class Manner(Labelled):
    """What a sentence does."""

    FACT = "fact", _("what was counted")
    STATE = "state", _("how it is")
    CHANGE = "change", _("what changed")
    UNSAID = "unsaid", _("what cannot be said")


class Topic(Labelled):
    """What a sentence is about."""

    REEDS = "reeds", _("reeds made")
    OFFSET = "offset", _("beside the aim")
    AIM = "aim", _("nearer to the aim")
    EVENNESS = "evenness", _("evenness of the hand")
    FINDING = "finding", _("what was found")
    RATING = "rating", _("how they played")


class When(NamedTuple):
    """The days from which some reeds come; the page names their months, or says 'now'."""

    first: dt.date
    last: dt.date
    now: bool = False


class Phrase(NamedTuple):
    """Marked words with named places. What fills them: see `reeds.numbers.words.said`; a Phrase or a When
    too."""

    message: str
    params: Mapping[str, object] = {}


@dataclass(frozen=True, kw_only=True)
class Sentence:
    """One thing that may be said of a term.

    Attributes
    ----------
    about : str
        The quantity, finding or item it is about; '' for none.
    student : int or None
        Of whom; None for the whole studio.
    text, ground : Phrase
        The sentence, and under it what it rests on: how many reeds, the interval.
    chance : float or None
        How often chance alone would show as much; None where nothing is claimed beyond what was counted.
    offset : float or None
        What the student's offset of this quantity would be moved by, in its unit, if this is the
        instrument's wish.
    """

    manner: Manner
    topic: Topic
    about: str = ""
    student: int | None = None
    text: Phrase
    ground: Phrase = field(default=Phrase(""))
    chance: float | None = None
    offset: float | None = None


_NUMBERS = (
    _("none"),
    _("one"),
    _("two"),
    _("three"),
    _("four"),
    _("five"),
    _("six"),
    _("seven"),
    _("eight"),
    _("nine"),
    _("ten"),
    _("eleven"),
    _("twelve"),
)


def counted(n: int) -> str:
    """Return a count as one writes it in a sentence: a marked word up to twelve, figures beyond."""
    return _NUMBERS[n] if n < len(_NUMBERS) else str(n)


def when(days: list[dt.date], now: bool = False) -> When:
    """Return the days of some reeds, at least one."""
    return When(min(days), max(days), now)
