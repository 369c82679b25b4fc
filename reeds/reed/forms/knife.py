"""The day on which somebody's knife was sharpened."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy

from reeds.fields import PastDay


class KnifeForm(forms.Form):
    """One day; empty for today."""

    sharpened_on = PastDay(
        label=gettext_lazy("Sharpened on"), help_text=gettext_lazy("Only if it was not today.")
    )
