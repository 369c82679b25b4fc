"""The order of work on a scraped reed, as data: what is put right first, and what waits for it."""

from __future__ import annotations

from enum import StrEnum

from reeds.numbers.words import Labelled
from reeds.numbers.words import gettext_noop as _


class Work(Labelled):
    """What scraping and clipping are for, in the order in which it is done: common practice, no source."""

    EVENNESS = "evenness", _("both sides of the opening alike")
    EFFORT = "effort", _("how hard it is to blow")
    CORNERS = "corners", _("the corners")
    TIP = "tip", _("the tip")
    LOW_NOTES = "low_notes", _("the low notes")
    STACCATO = "staccato", _("the staccato")
    THIRD_OCTAVE = "third_octave", _("the third octave")
    INTONATION = "intonation", _("the intonation")


class Takes(StrEnum):
    """What a step takes off the reed for good."""

    SCRAPE = "scrape"
    CLIP = "clip"
    GIVE_UP = "give_up"
