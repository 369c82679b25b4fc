"""How somebody chooses in which language they read, and what notes are called there."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.utils.translation import gettext_lazy as _

from studio.models import Person
from studio.reading import NoteNames


class ReadingForm(forms.Form):
    """A language, or that of the browser; names of notes, or those of the language."""

    language = forms.ChoiceField(
        label=_("Language"),
        required=False,
        choices=[("", _("as this browser asks for it")), *settings.LANGUAGES],
        help_text=_("Of all pages, on all your devices, and of what goes out to you."),
    )
    note_names = forms.ChoiceField(
        label=_("Names of notes"),
        required=False,
        choices=NoteNames.choices,
        help_text=_("In what you read and in what you type: B is one semitone lower in German."),
    )

    prefix = "reading"

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Django's
        super().__init__(*args, **kwargs)
        self.person = person
        self.initial = {"language": person.language, "note_names": person.note_names}

    def keep(self) -> Person:
        """Keep what was chosen and return whose it is."""
        for name in ("language", "note_names"):
            setattr(self.person, name, self.cleaned_data[name])
        self.person.save(update_fields=["language", "note_names"])
        return self.person
