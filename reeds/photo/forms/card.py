"""The form for a printed card's bar."""

from __future__ import annotations

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from reeds.numbers.entry import NumberQuestion, read_number
from reeds.numbers.words import Method, gettext_noop
from reeds.photo.models.card import BAR_METHODS
from reeds.wording import choices_of, say

BAR_NAME = gettext_noop("the bar's length")


class BarForm(forms.Form):
    """How long the bar of 100 mm came out of the printer."""

    bar = forms.CharField(
        label=_("the bar measures (mm)"),
        max_length=20,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "number"}),
    )
    method = forms.ChoiceField(label=_("measured with"), choices=choices_of(BAR_METHODS))

    def clean_bar(self) -> float:
        text = self.cleaned_data["bar"]
        try:
            return read_number(text, name=BAR_NAME, unit="mm", low=50.0, high=200.0)
        except NumberQuestion as question:
            raise ValidationError(say(question)) from None

    def clean_method(self) -> Method:
        return Method(self.cleaned_data["method"])
