"""What may be said of a term, in the reader's words."""

from __future__ import annotations

import datetime as dt
from functools import lru_cache

from django.utils.formats import date_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from lessons.term.lookback.sentence import Phrase, When
from reeds.checks.registry import CHECKS
from reeds.numbers.words import PLAYING_TEST, inside
from studio.numerals import for_eyes

# what findings and ratings are about, beside the studio's quantities
NAMES = {**{check.key: check.name for check in CHECKS}, **PLAYING_TEST}


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
    return written(day, "F")


def written(day: dt.date, form: str) -> str:
    """Return a day as the reader's language writes it in this form; a page writes few days many times."""
    return _written(day, form, get_language())


@lru_cache(maxsize=2_000)
def _written(day: dt.date, form: str, _language: str | None) -> str:
    return date_format(day, form)
