"""Fields that several pages share: a moment in the past, a day in the past, a length as it is typed."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable
from functools import partial
from typing import Any, Self

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reeds.numbers.entry import NumberQuestion, read_number
from reeds.numbers.quantity import Quantity
from reeds.wording import say, unit_of


class TypedNumber(forms.CharField):
    """A number as people type it, within bounds, on the decimal keypad; None if it is left empty."""

    def __init__(
        self,
        *,
        name: str,
        unit: str,
        low: float,
        high: float,
        spellings: Iterable[str] = (),
        **kwargs: Any,  # noqa: ANN401  # as Django's own
    ) -> None:
        self.read = partial(read_number, name=name, unit=unit, low=low, high=high, spellings=spellings)
        keypad = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "number"})
        super().__init__(**{"required": False, "widget": keypad, "max_length": 40, **kwargs})

    @classmethod
    def of(cls, quantity: Quantity, **kwargs: Any) -> Self:  # noqa: ANN401  # as Django's own
        """Return a field for a quantity of the registry, under its own name unless a label is given."""
        name = _(quantity.name)
        return cls(
            name=quantity.name,
            unit=quantity.unit,
            low=quantity.low,
            high=quantity.high,
            spellings=quantity.spellings,
            **{"label": f"{name} ({unit_of(quantity)})" if quantity.unit else name, **kwargs},
        )

    def clean(self, value: Any) -> float | None:  # noqa: ANN401  # as Django gives it
        text = super().clean(value)
        if not text:
            return None
        try:
            return self.read(text)
        except NumberQuestion as question:
            raise ValidationError(say(question)) from None

    def prepare_value(self, value: Any) -> Any:  # noqa: ANN401  # as Django gives it
        """Show a stored number the way the reader writes numbers."""
        if not isinstance(value, float):
            return value
        return number_format(int(value) if value.is_integer() else value)


def noon_of(day: dt.date, made_at: dt.datetime) -> dt.datetime:
    """Return noon of a day; of the day on which a reed was made, not before that."""
    noon = timezone.make_aware(dt.datetime.combine(day, dt.time(12)))
    return max(noon, made_at) if timezone.localdate(made_at) == day else noon


class PastMoment(forms.DateTimeField):
    """A time in the studio's zone that has come already; empty means now."""

    def __init__(self, **kwargs: Any) -> None:  # noqa: ANN401
        widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
        defaults = {
            "required": False,
            "label": gettext_lazy("When"),
            "help_text": gettext_lazy("Only if it was not just now."),
            "widget": widget,
        }
        super().__init__(**{**defaults, **kwargs})

    def validate(self, value: dt.datetime | None) -> None:
        super().validate(value)
        if value is not None and value > timezone.now():
            raise ValidationError(_("That time has not come yet."))


class PastDay(forms.DateField):
    """A day that has come already, in the studio's zone."""

    def __init__(self, **kwargs: Any) -> None:  # noqa: ANN401
        widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        super().__init__(**{"required": False, "widget": widget, **kwargs})

    def validate(self, value: dt.date | None) -> None:
        super().validate(value)
        if value is not None and value > timezone.localdate():
            raise ValidationError(_("That day has not come yet."))


class OnceForm(forms.Form):
    """A form that carries a key, so that it counts once however often it is sent."""

    key = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=uuid.uuid4)


class MeasuredOnceForm(OnceForm):
    """A form of numbers, which may have been measured on an earlier day."""

    day = PastDay(label=gettext_lazy("Measured on"), help_text=gettext_lazy("Only if it was not today."))

    def moment(self, made_at: dt.datetime) -> dt.datetime | None:
        """Return when they were measured: None for now, else noon of the day, not before it was made."""
        day: dt.date | None = self.cleaned_data["day"]
        return None if day is None or day == timezone.localdate() else noon_of(day, made_at)


class MeasuredOnPhoto(forms.Form):
    """What the pages that measure on a photo share: their key, and everything wrong as one text."""

    key = forms.UUIDField(required=False)
    # of the picture as the page shows it: its points lie in pixels of it
    picture_width = forms.IntegerField(required=False)
    shown_width: int | None = None  # of the photo as it is now

    def clean_picture_width(self) -> int | None:
        """Refuse points of a picture whose original came meanwhile: they lie elsewhere on that."""
        told: int | None = self.cleaned_data["picture_width"]
        if told not in (None, self.shown_width):
            raise ValidationError(
                _("The original of this photo came meanwhile. Open the page anew and measure on that.")
            )
        return told

    @property
    def once(self) -> uuid.UUID:
        """The page's key, by which a form sent twice counts once."""
        return self.cleaned_data["key"] or uuid.uuid4()

    @property
    def said(self) -> str:
        """Everything that is wrong, as one text."""
        return " ".join(str(error) for errors in self.errors.values() for error in errors)
