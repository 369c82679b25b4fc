"""Words for people: marked sentences, refusals, and the closed lists that every module uses.

Needs no web framework: `makemessages` finds the calls by their name; what is marked is translated where it is
shown.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from enum import IntEnum, StrEnum
from typing import Self


def gettext_noop(message: str) -> str:
    """Return `message` unchanged; its only use is to be found by the translation tools."""
    return message


_ = gettext_noop


def _shown(key: str, value: object, translate: Callable[[str], str], number: Callable[[float], str]) -> str:
    if isinstance(value, float):
        return number(int(value) if value.is_integer() else value)
    if isinstance(value, list):
        return ", ".join(translate(one) for one in value)
    is_word = isinstance(value, str) and value and key.endswith(("name", "label", "unit"))
    return translate(str(value)) if is_word else str(value)


def said(
    message: str,
    params: Mapping[str, object],
    translate: Callable[[str], str] = str,
    number: Callable[[float], str] = "{:g}".format,
) -> str:
    """Return the sentence `message` translated and filled with `params`.

    Parameters
    ----------
    message : str
        A marked sentence with named places such as ``%(name)s``; empty gives empty.
    params : mapping
        Parameters whose key ends in ``name``, ``label`` or ``unit`` are marked words themselves and are
        translated too, and so is each of a list; floats go through `number` (a page passes its locale's way
        of writing a number).

    Raises
    ------
    KeyError
        If the sentence asks for a parameter that is not given.
    """
    sentence = inside(message, params, translate, number)
    return sentence[:1].upper() + sentence[1:]


def inside(
    message: str,
    params: Mapping[str, object],
    translate: Callable[[str], str] = str,
    number: Callable[[float], str] = "{:g}".format,
) -> str:
    """Return the same as `said` for words that stand within a sentence: their first letter stays as it is."""
    if not message:
        return ""
    sentence = translate(message) % _Filled(params, translate, number)
    # a quantity without a unit leaves its place empty: no double space
    return re.sub(" {2,}", " ", sentence) if "  " in sentence else sentence


class _Filled(dict[str, str]):
    """What fills a sentence's places: each is put into words when the sentence asks for it."""

    def __init__(
        self, params: Mapping[str, object], translate: Callable[[str], str], number: Callable[[float], str]
    ) -> None:
        self.params, self.translate, self.number = params, translate, number

    def __missing__(self, key: str) -> str:
        return _shown(key, self.params[key], self.translate, self.number)


class Refused(ValueError):
    """Something given that cannot be used; its text is the sentence in English.

    What cannot be taken or done is one family: pure code refuses what it is given, actions refuse what they
    are asked to do, and a person reads one sentence that says why and what to do.

    - Refused (ValueError)            what was given cannot be used; `reeds.wording.say` tells it
      - NumberQuestion                a typed number, perhaps with what was meant
      - NotANoteError                 a word that names no note
      - SheetError                    a row or a whole of a measuring sheet
      - PlayingItemError              an item of a playing test
      - PhotoRefused                  a photo that gives no honest figure
        - PhotoCutShort               one whose file is not whole
      - UnreadableTakeError           a file that is no recording
      - TableRefused                  a file that is no list of reeds
      - CellRefused                   a cell of such a list
      - DayQuestion                   a day that may be one of two
      - MarkRefused                   a mark on a photo or a recording
    - NotPossible (studio.errors)     what was asked for cannot be done; its text is told as it is
      - ChangedMeanwhile              somebody saved a version of the measuring sheet meanwhile
      - SentMeanwhile                 the round was sent meanwhile

    Attributes
    ----------
    sentence : str
        A marked sentence with named places.
    params : dict
        What fills the places; keys ending in ``name``, ``label``, ``unit`` are marked words too (see `said`).
    """

    def __init__(self, sentence: str, /, **params: object) -> None:
        super().__init__(said(sentence, params) if params else sentence)
        self.sentence, self.params = sentence, params


class Labelled(StrEnum):
    """A closed list of words: each member is its lasting word in data and has a marked `label` for people.

    `order` is its place in the list, from 0.
    """

    label: str
    order: int

    def __new__(cls, value: str, label: str = "") -> Self:
        member = str.__new__(cls, value)
        member._value_, member.label, member.order = value, label, len(cls.__members__)
        return member


class Grade(IntEnum):
    """A closed list of steps from the least to the most, each with a marked `label` for people."""

    label: str

    def __new__(cls, value: int, label: str = "") -> Self:
        member = int.__new__(cls, value)
        member._value_, member.label = value, label
        return member


class Stage(Labelled):
    """Where a reed stands in its life, in order, given up last; stages can be skipped and gone back to."""

    CANE = "cane", _("cane")
    SHAPED = "shaped", _("shaped")
    TIED = "tied", _("tied")
    BOUND = "bound", _("bound")
    SCRAPED = "scraped", _("scraped")
    FINISHING = "finishing", _("finishing")
    PLAYING = "playing", _("playing")
    PLAYED_OUT = "played_out", _("played out")
    GIVEN_UP = "given_up", _("given up")

    @property
    def later(self) -> list[Stage]:
        """The stages that may follow, the nearest first; giving up is none."""
        return [stage for stage in Stage if self.order < stage.order < Stage.GIVEN_UP.order]

    @property
    def is_over(self) -> bool:
        """Whether nothing is done with the reed any more."""
        return self in (Stage.PLAYED_OUT, Stage.GIVEN_UP)

    @property
    def is_blank(self) -> bool:
        """Whether the reed is tied or bound and not yet scraped."""
        return self in (Stage.TIED, Stage.BOUND)

    @property
    def is_scraped(self) -> bool:
        """Whether the reed is scraped and not yet given up or played out."""
        return self in (Stage.SCRAPED, Stage.FINISHING, Stage.PLAYING)

    @property
    def is_played(self) -> bool:
        """Whether it is far enough to be played, and is not played out or given up."""
        return self in (Stage.FINISHING, Stage.PLAYING)


class Method(Labelled):
    """How a number was measured."""

    EYE = "eye", _("by eye or ear")
    RULER = "ruler", _("ruler")
    CALIPER = "caliper", _("caliper")
    DIAL = "dial", _("dial gauge")
    PHOTO = "photo", _("photo")
    RECORDING = "recording", _("recording")

    @property
    def u_mm(self) -> float | None:
        """The default standard uncertainty of a length, mm; None where each result brings its own.

        Common practice from memory, no source, and the studio's to change; the ruler is read to half a
        millimetre at both ends: sqrt(2) * 0.5 / sqrt(12) = 0.204 (JCGM 100:2008, F.2.2.1).
        """
        return _METHOD_U_MM.get(self)

    @property
    def by_hand(self) -> bool:
        """Whether a person reads and types it: neither photo nor recording."""
        return self not in (Method.PHOTO, Method.RECORDING)


_METHOD_U_MM = {Method.EYE: 0.5, Method.RULER: 0.2, Method.CALIPER: 0.05, Method.DIAL: 0.01}


class Moisture(Labelled):
    """Whether the cane was soaked when it was measured."""

    WET = "wet", _("wet")
    DRY = "dry", _("dry")
    UNKNOWN = "unknown", _("not noted")


class Style(Labelled):
    """The way of scraping a pattern is for; usual next steps are never carried from one to another."""

    SHORT = "short", _("short scrape")
    LONG = "long", _("long scrape")
    OTHER = "other", _("another scrape")


class Flexibility(Labelled):
    """How the wet cane bends in the hand: a property of the reed, felt and not measured."""

    FLEXIBLE = "flexible", _("flexible")
    MEDIUM = "medium", _("medium")
    HARD = "hard", _("hard")
    UNKNOWN = "unknown", _("not noted")


# what is played in a playing test, in the usual order
PLAYING_TEST: dict[str, str] = {
    "crow": _("crow, the reed alone"),
    "low_notes": _("low notes, softly"),
    "staccato": _("staccato on one note"),
    "third_octave": _("third octave"),
    "long_tone": _("long tone, soft, loud, soft"),
    "tuning": _("tuning note"),
}
# how hard a reed is to blow, kept among the answers to a playing test under this key
EFFORT = "effort"


class Speaks(Grade):
    """How an item of the playing test speaks."""

    NOT = 1, _("does not speak")
    SELDOM = 2, _("speaks seldom")
    LATE = 3, _("speaks late")
    MOSTLY = 4, _("speaks mostly")
    AT_ONCE = 5, _("speaks at once")


class Effort(Grade):
    """How hard a reed or an item is to blow."""

    VERY_EASY = 1, _("very easy")
    EASY = 2, _("easy")
    RIGHT = 3, _("as it should be")
    HARD = 4, _("hard")
    VERY_HARD = 5, _("very hard")
