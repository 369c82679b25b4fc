"""What is typed before somebody is erased, and how long a studio keeps things."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from studio.erasable import MONTHS
from studio.forms import OneLine
from studio.models import Studio


def folded(name: str) -> str:
    """Return a name as it is compared: small letters, one space between words."""
    return " ".join(name.casefold().split())


class EraseForm(forms.Form):
    """The name of who is erased, typed, since nothing brings them back."""

    numbers_too = forms.BooleanField(
        label=_("Reeds and numbers are to go as well"),
        required=False,
        help_text=_("Figures of past terms change then. Without this they stay, without a name."),
    )
    name = OneLine(max_length=80, widget=forms.TextInput(attrs={"autocomplete": "off"}))

    def __init__(self, name: str, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Django calls it
        super().__init__(*args, **kwargs)
        self.asked = name
        self.fields["name"].label = gettext("Type “%(name)s” to confirm") % {"name": name}

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        if folded(name) != folded(self.asked):
            raise ValidationError(_("This is another name. Nothing was erased."))
        return name


class KeepingForm(forms.ModelForm[Studio]):
    """How long a studio keeps what; empty is for ever."""

    class Meta:
        model = Studio
        fields = ("keep_pictures_months", "keep_former_months")

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Django calls it
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.choices = [("", _("until somebody erases them")), *MONTHS]  # type: ignore[attr-defined]  # a choice
            field.required = False
