"""Forms made from the registry of quantities: what is asked at a stage, read as people type it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reeds.fields import say
from reeds.numbers.entry import NumberQuestion
from reeds.numbers.quantity import Quantity
from reeds.numbers.registry import parse_number
from reeds.numbers.vocabulary import Method, Moisture
from reeds.reed.actions import Entry
from reeds.reed.models.playing import Effort, Speaks


class NumberField(forms.CharField):
    """One number as people type it, on the phone's decimal keypad."""

    def __init__(self, quantity: Quantity) -> None:
        self.quantity = quantity
        label = f"{_(quantity.name)} ({quantity.unit})" if quantity.unit else _(quantity.name)
        keypad = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "number"})
        super().__init__(
            required=False, label=label, help_text=_(quantity.help), widget=keypad, max_length=40
        )

    def clean(self, value: Any) -> float | None:  # noqa: ANN401  # as Django gives it
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_number(text, self.quantity)
        except NumberQuestion as question:
            raise ValidationError(say(question.message, question.params)) from None


def _word_field(quantity: Quantity) -> forms.ChoiceField:
    choices = [("", gettext_lazy("not looked at")), *((value, _(label)) for value, label in quantity.choices)]
    return forms.ChoiceField(
        required=False,
        label=_(quantity.name),
        help_text=_(quantity.help),
        choices=choices,
        widget=forms.RadioSelect,
    )


class NumbersForm(forms.Form):
    """The numbers of one stage: values never filled in beforehand, the usual way of measuring always."""

    moisture = forms.ChoiceField(
        label=gettext_lazy("The cane is"),
        required=False,
        initial=Moisture.WET,
        choices=[(moisture.value, gettext_lazy(moisture.label)) for moisture in Moisture],
    )

    def __init__(self, quantities: list[Quantity], *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.quantities = quantities
        for quantity in quantities:
            if not quantity.is_number:
                self.fields[quantity.key] = _word_field(quantity)
                continue
            self.fields[quantity.key] = NumberField(quantity)
            self.fields[f"{quantity.key}-method"] = forms.ChoiceField(
                label=_("measured with"),
                required=False,
                initial=quantity.hand_method,
                choices=[(method.value, _(method.label)) for method in quantity.methods if method.u_mm],
            )

    def entries(self) -> list[Entry]:
        """Return what was entered and could be read, in the order asked."""
        return [entry for quantity in self.quantities if (entry := self._entry(quantity)) is not None]

    def _entry(self, quantity: Quantity) -> Entry | None:
        given = self.cleaned_data.get(quantity.key)
        moisture = Moisture(self.cleaned_data.get("moisture") or Moisture.UNKNOWN)
        if given in (None, ""):
            return None
        if not quantity.is_number:
            return Entry(quantity, Method.EYE, word=given, moisture=moisture)
        method = Method(self.cleaned_data.get(f"{quantity.key}-method") or quantity.hand_method)
        return Entry(quantity, method, value=given, moisture=moisture)


class PlayingForm(forms.Form):
    """The playing test: how each item speaks and blows, and how hard the reed is to blow as a whole."""

    effort = forms.TypedChoiceField(
        label=gettext_lazy("How hard is it to blow?"),
        required=False,
        coerce=int,
        empty_value=None,
        choices=[("", gettext_lazy("not tried")), *Effort.choices],
    )

    def __init__(self, items: Mapping[str, str], *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.items = items
        for item, name in items.items():
            self.fields[f"plays-{item}"] = forms.TypedChoiceField(
                label=_(name),
                required=False,
                coerce=int,
                empty_value=None,
                choices=[("", gettext_lazy("not played")), *Speaks.choices],
            )
            self.fields[f"blows-{item}"] = forms.TypedChoiceField(
                label=gettext_lazy("To blow:"),
                required=False,
                coerce=int,
                empty_value=None,
                choices=[("", gettext_lazy("not noted")), *Effort.choices],
            )

    def ratings(self) -> dict[str, int]:
        """Return the rating of each item that was played."""
        return self._given("plays")

    def efforts(self) -> dict[str, int]:
        """Return how hard each item was to blow, of those it was noted for."""
        return self._given("blows")

    def _given(self, what: str) -> dict[str, int]:
        given = {item: self.cleaned_data.get(f"{what}-{item}") for item in self.items}
        return {item: value for item, value in given.items() if value is not None}
