"""Forms made from the registry of quantities: what is asked at a stage, read as people type it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reeds.fields import TypedNumber
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Effort, Method, Moisture, Speaks
from reeds.reed.actions import Entry
from reeds.wording import choices_of


def _word_field(quantity: Quantity) -> forms.ChoiceField:
    choices = [("", gettext_lazy("not looked at")), *((value, _(label)) for value, label in quantity.choices)]
    return forms.ChoiceField(
        required=False,
        label=_(quantity.name),
        help_text=_(quantity.help),
        choices=choices,
        widget=forms.RadioSelect,
    )


def _method_field(quantity: Quantity, read: Read | None) -> forms.ChoiceField:
    """The tools; where a photo or a recording told the number, that too, and the tool for typing over it."""
    ways = (*quantity.hand_methods, *((read.method,) if read else ()))
    return forms.ChoiceField(
        label=_("measured with"),
        required=False,
        initial=quantity.hand_method,
        choices=choices_of(ways),
        widget=forms.Select(attrs={"data-by-hand": quantity.hand_method.value} if read else {}),
    )


@dataclass(frozen=True)
class Read:
    """A number that a photo or a recording told already, as a field shows it: it is a row of the reed's."""

    text: str
    method: Method


def usual_of(quantities: Iterable[Quantity]) -> dict[str, str | None]:
    """Return the names of the fields for these, each with what it holds before anything is typed."""
    usual: dict[str, str | None] = {"moisture": Moisture.UNKNOWN}
    for quantity in quantities:
        usual[quantity.key] = None
        if quantity.is_number:
            usual[f"{quantity.key}-method"] = quantity.hand_method
    return usual


class NumbersForm(forms.Form):
    """The numbers of one stage: none is filled in that nobody measured, nor wet or dry; the usual tool is."""

    moisture = forms.ChoiceField(
        label=gettext_lazy("The cane is"),
        required=False,
        initial=Moisture.UNKNOWN,
        choices=choices_of(Moisture),
    )

    def __init__(
        self,
        quantities: list[Quantity],
        *args: Any,  # noqa: ANN401
        read: Mapping[str, Read] | None = None,
        **kwargs: Any,  # noqa: ANN401
    ) -> None:
        super().__init__(*args, **kwargs)
        self.quantities, self.read = quantities, read or {}
        for quantity in quantities:
            if not quantity.is_number:
                self.fields[quantity.key] = _word_field(quantity)
                continue
            self.fields[quantity.key] = TypedNumber.of(quantity, help_text=_(quantity.help))
            self.fields[f"{quantity.key}-method"] = _method_field(quantity, self.read.get(quantity.key))

    @property
    def asked(self) -> list[Quantity]:
        """The numbers and the things seen that the checks wait for."""
        return [quantity for quantity in self.quantities if not quantity.at_bench]

    @property
    def at_bench(self) -> list[Quantity]:
        """What may be noted of the work itself."""
        return [quantity for quantity in self.quantities if quantity.at_bench]

    def entries(self) -> list[Entry]:
        """Return what was entered and could be read, in the order asked."""
        return [entry for quantity in self.quantities if (entry := self._entry(quantity)) is not None]

    def _entry(self, quantity: Quantity) -> Entry | None:
        given = self.cleaned_data.get(quantity.key)
        moisture = Moisture(self.cleaned_data.get("moisture") or Moisture.UNKNOWN)
        if given in (None, ""):
            return None
        if not quantity.is_number:
            felt = Moisture.UNKNOWN if quantity.at_bench else moisture
            return Entry(quantity, Method.EYE, word=given, moisture=felt)
        method = Method(self.cleaned_data.get(f"{quantity.key}-method") or quantity.hand_method)
        if self.read.get(quantity.key) == Read(str(self.data.get(quantity.key)), method):
            return None  # a row already
        if not method.by_hand:
            method = quantity.hand_method  # read off a photo, then typed over
        return Entry(quantity, method, value=given, moisture=moisture)


class PlayingForm(forms.Form):
    """The playing test: how each item speaks, and once how hard the reed is to blow."""

    effort = forms.TypedChoiceField(
        label=gettext_lazy("How hard is it to blow?"),
        required=False,
        coerce=int,
        empty_value=None,
        choices=[("", gettext_lazy("not tried")), *choices_of(Effort)],
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
                choices=[("", gettext_lazy("not played")), *choices_of(Speaks)],
            )

    def ratings(self) -> dict[str, int]:
        """Return the rating of each item that was played."""
        given = {item: self.cleaned_data.get(f"plays-{item}") for item in self.items}
        return {item: value for item, value in given.items() if value is not None}
