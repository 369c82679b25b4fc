"""Words, sentences and numbers of the pure packages in the reader's language."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy

from reeds.numbers.measured import Measured, rounded
from reeds.numbers.notes import called
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Effort, Grade, Labelled, Refused, said
from studio.numerals import for_eyes
from studio.reading import calls_notes_german

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise


def filled(sentence: str, params: Mapping[str, object]) -> str:
    """Return a marked sentence with its places filled."""
    return said(sentence, params, _, for_eyes)


def say(refusal: Refused) -> str:
    """Return the sentence of what was refused."""
    return filled(refusal.sentence, refusal.params) if refusal.params else _(refusal.sentence)


def choices_of(words: Iterable[Labelled | Grade]) -> list[tuple[Any, StrOrPromise]]:
    """Return what a field offers for these members, in their order."""
    return [(word.value, _named(word)) for word in words]


def _named(word: Labelled | Grade) -> StrOrPromise:
    """Cane that is hard and a reed that is hard to blow are two words elsewhere."""
    return pgettext_lazy("how it blows", "hard") if word is Effort.HARD else gettext_lazy(word.label)


def unit_of(quantity: Quantity) -> str:
    """Return a quantity's unit as the reader calls it, '' where it has none."""
    return _(quantity.unit) if quantity.unit else ""


def notes_in_words(names: Iterable[str]) -> str:
    """Return notes as the reader calls them, one after the other."""
    german = calls_notes_german()
    return ", ".join(called(name, german=german) for name in names)


def in_words(measured: Measured, usual: int = 3) -> str:
    """Return a number and its doubt (k = 1), as finely as that allows; an exact one to `usual` decimals."""
    shown, decimals = rounded(measured, usual)
    value = for_eyes(shown.value, decimals)
    return f"{value} ± {for_eyes(shown.u, decimals)}" if shown.u else value
