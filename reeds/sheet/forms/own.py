"""Forms of the studio's own quantities and things seen."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reeds.fields import TypedNumber
from reeds.numbers.quantity import UNITS
from reeds.numbers.words import Method, Stage, gettext_noop
from reeds.sheet.actions.own import Described
from reeds.sheet.models.own import HAND_METHODS, OwnQuantity
from reeds.wording import choices_of

STAGES = [stage for stage in Stage if stage.order <= Stage.PLAYING.order]
# far beyond what a reed can be, in any unit: what is typed further out is a slip
FAR = 100_000.0
FEWEST_CHOICES, MOST_CHOICES, LONGEST_CHOICE = 2, 6, 40
NO_UNIT = gettext_lazy("“%(value)s” is no unit that numbers are kept in here: choose one of the list.")


class OwnForm(forms.Form):
    """What both kinds have: a name, a stage, how one goes about it."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=60)
    stage = forms.ChoiceField(label=gettext_lazy("Asked when it is"), choices=choices_of(STAGES))
    help = forms.CharField(
        label=gettext_lazy("How one measures it"),
        max_length=200,
        required=False,
        help_text=gettext_lazy("From where to where, wet or dry: students read it beside the field."),
    )

    field_order = ("name", "unit", "stage", "low", "high", "method", "u", "labels", "help")

    def described(self) -> Described:
        """Return what was typed."""
        given = self.cleaned_data
        return Described(name=given["name"], stage=Stage(given["stage"]), help=given["help"].strip())


def _bound(name: str, **shown: Any) -> TypedNumber:  # noqa: ANN401  # label and help, as Django has them
    return TypedNumber(name=name, unit="", low=-FAR, high=FAR, required=True, **shown)


class OwnNumberForm(OwnForm):
    """A quantity: a number with its unit, its bounds and its doubt."""

    unit = forms.ChoiceField(
        label=gettext_lazy("Unit"),
        required=False,
        choices=[(unit, gettext_lazy(unit) if unit else gettext_lazy("none")) for unit in UNITS],
        help_text=gettext_lazy("None for a count or a ratio."),
        error_messages={"invalid_choice": NO_UNIT},
    )
    low = _bound(
        gettext_noop("the least that can be"),
        label=gettext_lazy("Never less than"),
        help_text=gettext_lazy(
            "What no reed can be is asked back as it is typed. Limits stand on the sheet."
        ),
    )
    high = _bound(gettext_noop("the most that can be"), label=gettext_lazy("Never more than"))
    method = forms.ChoiceField(label=gettext_lazy("Usually measured with"), choices=choices_of(HAND_METHODS))
    u = TypedNumber(
        name=gettext_noop("the doubt of one reading"),
        unit="",
        low=1e-6,
        high=FAR,
        label=gettext_lazy("Doubt of one reading (±, in the unit)"),
        help_text=gettext_lazy(
            "Two times in three the true value lies within it; half a division is a good beginning. "
            "A length in mm has that of its tool: leave it empty."
        ),
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        low, high = cleaned.get("low"), cleaned.get("high")
        if low is not None and high is not None and low >= high:
            self.add_error("high", ValidationError(_("The most must be more than the least.")))
        if "unit" in cleaned and "u" in cleaned and cleaned["unit"] != "mm" and cleaned["u"] is None:
            self.add_error(
                "u",
                ValidationError(_("Say how far off one reading may be.")),
            )
        return cleaned

    def described(self) -> Described:
        base, given = super().described(), self.cleaned_data
        return replace(
            base,
            unit=given["unit"],
            low=given["low"],
            high=given["high"],
            method=given["method"],
            u=None if given["unit"] == "mm" else given["u"],
        )


class OwnSeenForm(OwnForm):
    """A thing seen: its choices, one a line."""

    labels = forms.CharField(
        label=gettext_lazy("Choices, one a line"),
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=gettext_lazy("Two to six, each of two or three words."),
    )

    def clean_labels(self) -> tuple[str, ...]:
        """Return the lines that say something, each once."""
        lines = [" ".join(line.split()) for line in self.cleaned_data["labels"].splitlines()]
        labels = [line for line in lines if line]
        if not FEWEST_CHOICES <= len(labels) <= MOST_CHOICES:
            raise ValidationError(_("Give two to six choices, one a line."))
        if len({label.casefold() for label in labels}) < len(labels):
            raise ValidationError(_("Two of the choices are the same."))
        if any(len(label) > LONGEST_CHOICE for label in labels):
            raise ValidationError(_("A choice has at most 40 letters: two or three words do."))
        return tuple(labels)

    def described(self) -> Described:
        base = super().described()
        return replace(base, labels=self.cleaned_data["labels"], method=Method.EYE)


KEPT_AS_IT_IS = ("name", "stage", "help", "unit", "low", "high", "method", "u")
FORMS: dict[str, type[OwnForm]] = {"number": OwnNumberForm, "seen": OwnSeenForm}


def form_of(own: OwnQuantity, data: Any = None) -> OwnForm:  # noqa: ANN401  # request.POST
    """Return the form of one that is there, filled as it stands or with what was sent."""
    kind = "number" if own.is_number else "seen"
    initial = {
        **{
            name: getattr(own, name)
            for name in ("name", "stage", "help", "unit", "low", "high", "method", "u")
        },
        "labels": "\n".join(label for _word, label in own.choices),
    }
    return FORMS[kind](data, initial=initial)
