"""What a teacher fills in of a demonstration."""

from __future__ import annotations

import uuid
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from lessons.demonstration.actions import Files, Told
from lessons.demonstration.models import Demonstration
from lessons.demonstration.subjects import subjects
from reeds.fields import OnceForm
from reeds.numbers.quantity import Known

SOUNDS = "audio/*,video/mp4,video/webm,.m4a,.aac,.mp4,.webm,.ogg,.mp3,.wav,.flac"


class WordsForm(forms.ModelForm[Demonstration]):
    """Its words, and what it is shown beside."""

    about = forms.ChoiceField(
        label=_("Offer it beside"),
        required=False,
        help_text=_("It is offered where this is found; of a stage, on every round of that stage."),
    )

    class Meta:
        model = Demonstration
        fields = ("title", "words", "about")
        labels = {"title": _("What it shows"), "words": _("Your words")}
        widgets = {"words": forms.Textarea(attrs={"rows": 4})}

    def __init__(self, known: Known, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Django calls it
        super().__init__(*args, **kwargs)
        self.fields["about"].choices = [("", _("nothing in particular")), *subjects(known)]  # type: ignore[attr-defined]  # a ChoiceField

    @property
    def told(self) -> Told:
        """What was read; only of a valid form."""
        return Told(**{name: self.cleaned_data[name] for name in ("title", "words", "about")})


class NewForm(WordsForm, OnceForm):
    """A new one: its words with a photo, a recording, or both."""

    photo = forms.FileField(
        label=_("Photo"), required=False, widget=forms.ClearableFileInput(attrs={"accept": "image/*,.heic"})
    )
    sound = forms.FileField(
        label=_("Recording, up to two minutes"),
        required=False,
        allow_empty_file=True,
        widget=forms.ClearableFileInput(attrs={"accept": SOUNDS}),
    )

    @property
    def chosen(self) -> Files:
        """What was chosen."""
        return Files(self.cleaned_data["photo"] or None, self.cleaned_data["sound"])

    @property
    def once(self) -> uuid.UUID:
        """The page's key, by which a form sent twice counts once."""
        return self.cleaned_data["key"] or uuid.uuid4()
