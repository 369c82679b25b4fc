"""In which language somebody reads, and what notes are called there: its columns, and the moment of it.

A page is in the language its reader chose, else in that of the link on the sign-in page (a cookie), else in
that of the browser. A letter or a notice is in the one they chose, else in that of their last sign-in.
"""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Iterator
from contextvars import ContextVar

from django.conf import settings
from django.db import models
from django.utils import translation
from django.utils.translation import gettext_lazy as _

LONGEST_CODE = 8


class NoteNames(models.TextChoices):
    """What notes are called."""

    AS_THE_LANGUAGE = "", _("as the language has them")
    ENGLISH = "english", _("English: B and Bb, with the number of the octave, A4")
    GERMAN = "german", _("German: H and B, with strokes for the octave, a′")


class Reading(models.Model):
    """The columns: a language, '' for that of the browser; the last sign-in's; the names of notes."""

    language = models.CharField(max_length=LONGEST_CODE, blank=True, default="", editable=False)
    asked_for = models.CharField(max_length=LONGEST_CODE, blank=True, default="", editable=False)
    note_names = models.CharField(
        max_length=8, choices=NoteNames.choices, blank=True, default="", editable=False
    )

    class Meta:
        abstract = True

    @property
    def reads(self) -> str:
        """The language of what goes out to them."""
        return known(self.language) or known(self.asked_for) or settings.LANGUAGE_CODE


_NOTE_NAMES: ContextVar[str] = ContextVar("note_names", default="")


def known(code: str) -> str:
    """Return the code of a language we have, '' for any other."""
    return code if code in dict(settings.LANGUAGES) else ""


def of_the_shell() -> str:
    """Return the language in which the shell wants to be spoken to, by POSIX's variables in order."""
    said = next(filter(None, map(os.environ.get, ("LC_ALL", "LC_MESSAGES", "LANG"))), "")
    return known(re.split(r"[_.@]", said)[0].lower()) or settings.LANGUAGE_CODE


def calls_notes_german() -> bool:
    """Whether whoever reads now calls notes H and B: by their own choice, else by the language of now."""
    chosen = _NOTE_NAMES.get()
    return chosen == NoteNames.GERMAN if chosen else (translation.get_language() or "").startswith("de")


@contextlib.contextmanager
def notes_called(names: str) -> Iterator[None]:
    """Have notes be called so, '' for as the language has them."""
    before = _NOTE_NAMES.set(names)
    try:
        yield
    finally:
        _NOTE_NAMES.reset(before)


def call_notes(names: str) -> None:
    """Have notes be called so until whoever began with `notes_called` ends it."""
    _NOTE_NAMES.set(names)


@contextlib.contextmanager
def written_for(person: Reading) -> Iterator[None]:
    """Write as this person reads, whoever asked for it."""
    with translation.override(person.reads), notes_called(person.note_names):
        yield
