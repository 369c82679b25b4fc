"""What foretelling looks at, in words; and what of one blank pulls its chance up or down."""

from __future__ import annotations

from collections.abc import Callable

from django.utils.formats import number_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from lessons.foretelling.chances.rows import Blank, Told
from reeds.numbers.words import Flexibility

ABOUTS: dict[str, str | Promise] = {
    "tie": gettext_lazy("how far the tie length lies off its aim"),
    "thread": gettext_lazy("where the thread ends"),
    "gouge": gettext_lazy("how far the gouge lies off its aim"),
    "airtight": gettext_lazy("whether it is airtight"),
    "flexibility": gettext_lazy("how the wet cane feels"),
    "staple_length": gettext_lazy("the length of the staple"),
    "rested_days": gettext_lazy("the rest before scraping"),
    "shape": gettext_lazy("the shape"),
    "speaks": gettext_lazy("how it spoke when it was first tried"),
    "effort": gettext_lazy("how hard it was to blow when it was first tried"),
}


def _mm(told: Told | None, decimals: int, over: str, under: str, none: str) -> str:
    """How far a number lies off its aim, in the words for more, for less and for neither."""
    value = round(told.value, decimals) if told else 0.0
    if not value:
        return none
    return (over if value > 0 else under) % {"mm": number_format(abs(value), decimals)}


def _tie(blank: Blank) -> str:
    return _mm(
        blank.tie, 1, _("tied %(mm)s mm long"), _("tied %(mm)s mm short"), _("tied as long as it should be")
    )


def _thread(blank: Blank) -> str:
    over, under = _("thread ends %(mm)s mm too far out"), _("thread ends %(mm)s mm too early")
    return _mm(blank.thread, 1, over, under, _("thread ends where it should"))


def _gouge(blank: Blank) -> str:
    over, under = _("gouge %(mm)s mm over its aim"), _("gouge %(mm)s mm under its aim")
    return _mm(blank.gouge, 2, over, under, _("gouge as it should be"))


def _rested(blank: Blank) -> str:
    days = round(blank.rested_days or 0.0)
    return ngettext("%d day of rest", "%d days of rest", days) % days


def _feel(blank: Blank) -> str:
    return _("wet cane feels %(feel)s") % {"feel": _(Flexibility(blank.flexibility).label)}


# of a blank whose number is known: what is not known pulls nowhere
WORDS: dict[str, Callable[[Blank], str]] = {
    "tie": _tie,
    "thread": _thread,
    "gouge": _gouge,
    "airtight": lambda blank: _("airtight") if blank.airtight else _("not airtight"),
    "flexibility": _feel,
    "staple_length": lambda blank: (
        _("staple of %(mm)s mm") % {"mm": number_format(blank.staple_length or 0.0, 1)}
    ),
    "rested_days": _rested,
    "shape": lambda blank: _("shape %(name)s") % {"name": blank.shape},
    "speaks": lambda blank: _("spoke %(mean)s of 5") % {"mean": number_format(blank.speaks or 0.0, 1)},
    "effort": lambda blank: (
        _("blowing it: %(effort)s of 5") % {"effort": number_format(blank.effort or 0, 0)}
    ),
}


def pull_in_words(about: str, blank: Blank) -> str:
    """Return what it is of this blank that pulls."""
    return WORDS[about](blank)
