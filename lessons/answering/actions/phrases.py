"""A teacher's usual words: kept, changed, counted, dropped."""

from __future__ import annotations

from django.db.models import F
from django.utils.translation import gettext as _

from lessons.answering.models import Phrase
from studio.errors import NotPossible
from studio.models import Member

MAX_PHRASES = 200


def keep_phrase(teacher: Member, words: str) -> Phrase:
    """Keep words for later; the same words twice are kept once."""
    words = " ".join(words.split())
    if not words:
        raise NotPossible(_("There are no words to keep: select some, or write some."))
    if len(words) > 500:
        raise NotPossible(_("Usual words are short: up to 500 letters."))
    if Phrase.objects.filter(teacher=teacher).count() >= MAX_PHRASES:
        raise NotPossible(_("You have 200 already: drop some that you do not use."))
    phrase, _made = Phrase.objects.get_or_create(studio_id=teacher.studio_id, teacher=teacher, words=words)
    return phrase


def change_phrase(phrase: Phrase, words: str) -> None:
    """Put other words in their place; how often they were used stays."""
    words = " ".join(words.split())
    if not words or len(words) > 500:
        raise NotPossible(_("Usual words are short: between 1 and 500 letters."))
    Phrase.objects.filter(pk=phrase.pk).update(words=words)


def use_phrase(phrase: Phrase) -> None:
    """Count one use, so that the most used come first."""
    Phrase.objects.filter(pk=phrase.pk).update(used=F("used") + 1)


def drop_phrase(phrase: Phrase) -> None:
    """Drop words that are not used any more."""
    phrase.delete()
