"""What may be said of a term, in the reader's words."""

from __future__ import annotations

import datetime as dt

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from lessons.term.lookback.sentence import Phrase, When
from reeds.numbers.words import inside
from studio.numerals import for_eyes


def in_words(phrase: Phrase) -> str:
    """Return a phrase in the reader's language, months and numbers in their way; '' for an empty one."""
    text = _inside(phrase)
    return text[:1].upper() + text[1:]


def _inside(phrase: Phrase) -> str:
    places = {key: _worded(value) for key, value in phrase.params.items()}
    return inside(phrase.message, places, _, for_eyes)


def _worded(value: object) -> object:
    if isinstance(value, Phrase):
        return _inside(value)
    return months(value) if isinstance(value, When) else value


def months(days: When) -> str:
    """Return 'now', 'in September', 'in September and October' or 'from September to November'."""
    if days.now:
        return _("now")
    first, last = _month(days.first), _month(days.last)
    apart = (days.last.year - days.first.year) * 12 + days.last.month - days.first.month
    if apart == 0:
        return _("in %(month)s") % {"month": first}
    words = _("in %(first)s and %(last)s") if apart == 1 else _("from %(first)s to %(last)s")
    return words % {"first": first, "last": last}


def _month(day: dt.date) -> str:
    return date_format(day, "F")
