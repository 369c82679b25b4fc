"""The closed lists of words that every other module uses: stages, ways of measuring, styles, flexibility."""

from __future__ import annotations

from enum import StrEnum

from reeds.numbers.words import gettext_noop as _


class Stage(StrEnum):
    """Where a reed stands in its life, in order; stages can be skipped and gone back to."""

    CANE = "cane"
    SHAPED = "shaped"
    TIED = "tied"
    BOUND = "bound"
    SCRAPED = "scraped"
    FINISHING = "finishing"
    PLAYING = "playing"
    PLAYED_OUT = "played_out"
    GIVEN_UP = "given_up"

    @property
    def label(self) -> str:
        """The marked name of the stage."""
        return _STAGE_LABELS[self]

    @property
    def order(self) -> int:
        """The place in the row, from 0; given up counts as last."""
        return list(Stage).index(self)

    @property
    def is_blank(self) -> bool:
        """Whether the reed is tied or bound and not yet scraped."""
        return self in (Stage.TIED, Stage.BOUND)


_STAGE_LABELS = {
    Stage.CANE: _("cane"),
    Stage.SHAPED: _("shaped"),
    Stage.TIED: _("tied"),
    Stage.BOUND: _("bound"),
    Stage.SCRAPED: _("scraped"),
    Stage.FINISHING: _("finishing"),
    Stage.PLAYING: _("playing"),
    Stage.PLAYED_OUT: _("played out"),
    Stage.GIVEN_UP: _("given up"),
}


class Method(StrEnum):
    """How a number was measured."""

    EYE = "eye"
    RULER = "ruler"
    CALIPER = "caliper"
    DIAL = "dial"
    PHOTO = "photo"
    RECORDING = "recording"

    @property
    def label(self) -> str:
        """The marked name of the way of measuring."""
        return _METHOD_LABELS[self]

    @property
    def u_mm(self) -> float | None:
        """The default standard uncertainty of a length, mm; None where each result brings its own.

        Common practice from memory, no source, and the studio's to change; the ruler is read to half a
        millimetre at both ends: sqrt(2) * 0.5 / sqrt(12) = 0.204 (JCGM 100:2008, F.2.2.1).
        """
        return _METHOD_U_MM.get(self)


_METHOD_LABELS = {
    Method.EYE: _("by eye or ear"),
    Method.RULER: _("ruler"),
    Method.CALIPER: _("caliper"),
    Method.DIAL: _("dial gauge"),
    Method.PHOTO: _("photo"),
    Method.RECORDING: _("recording"),
}
_METHOD_U_MM = {Method.EYE: 0.5, Method.RULER: 0.2, Method.CALIPER: 0.05, Method.DIAL: 0.01}


class Moisture(StrEnum):
    """Whether the cane was soaked when it was measured."""

    WET = "wet"
    DRY = "dry"
    UNKNOWN = "unknown"

    @property
    def label(self) -> str:
        """The marked word."""
        return _MOISTURE_LABELS[self]


_MOISTURE_LABELS = {
    Moisture.WET: _("wet"),
    Moisture.DRY: _("dry"),
    Moisture.UNKNOWN: _("not noted"),
}


class Style(StrEnum):
    """The way of scraping a pattern is for; usual next steps are never carried from one to another."""

    SHORT = "short"
    LONG = "long"
    OTHER = "other"

    @property
    def label(self) -> str:
        """The marked name of the style."""
        return _STYLE_LABELS[self]


_STYLE_LABELS = {
    Style.SHORT: _("short scrape"),
    Style.LONG: _("long scrape"),
    Style.OTHER: _("another scrape"),
}


class Flexibility(StrEnum):
    """How the wet cane bends in the hand: a property of the reed, felt and not measured."""

    FLEXIBLE = "flexible"
    MEDIUM = "medium"
    HARD = "hard"
    UNKNOWN = "unknown"

    @property
    def label(self) -> str:
        """The marked word."""
        return _FLEXIBILITY_LABELS[self]


_FLEXIBILITY_LABELS = {
    Flexibility.FLEXIBLE: _("flexible"),
    Flexibility.MEDIUM: _("medium"),
    Flexibility.HARD: _("hard"),
    Flexibility.UNKNOWN: _("not noted"),
}


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
