"""Forms of a planned comparison."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lessons.comparison.models import Differs, PlannedComparison
from reeds.fields import OnceForm
from reeds.numbers.entry import NumberQuestion, read_number
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import PLAYING_TEST
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.reed import Reed
from reeds.wording import say
from studio.forms import OneLine, Several, day_input
from studio.models import Member

FEWEST_BLANKS, MOST_BLANKS = 2, 24
LONGEST = dt.timedelta(days=400)
# how long a reed takes from the first scraping until it is known how it came out; own choice
AFTER_REST = dt.timedelta(days=7)
MOST_REST = 365
# as it is said in each language that the pages speak; all words for weeks begin with a w
_UNITS = r"days?|nights?|weeks?|d|w|Tage?|Nacht|Nächte|Wochen?|T|N"
_REST = re.compile(rf"\s*(\d{{1,4}})\s*({_UNITS})?\s*", re.IGNORECASE)


def outcome_choices() -> list[tuple[str, str]]:
    """Return what a comparison may look at in the end."""
    rated = [
        (f"rating:{item}", gettext("how it speaks: %s") % gettext(name))
        for item, name in PLAYING_TEST.items()
    ]
    days = ("days", gettext("days it was played, of the reeds that play no more"))
    return [("played", gettext("whether it came to play")), *rated, days]


class PlanForm(forms.ModelForm[PlannedComparison]):
    """What differs, for whom, how many blanks each, until when, and what is looked at."""

    one = OneLine(label=_("The one way"), max_length=60, help_text=_("1 night; 46 mm; the name on the bag."))
    other = OneLine(label=_("The other way"), max_length=60, help_text=_("8 weeks; 47 mm; another bag."))
    outcome = forms.ChoiceField(label=_("What is looked at in the end"), choices=outcome_choices)
    with_blanks = forms.BooleanField(
        label=_("Begin with the blanks that are there"),
        required=False,
        initial=True,
        help_text=_("Blanks that rest already longer than the shorter rest are left out; others come later."),
    )
    key = forms.UUIDField(widget=forms.HiddenInput)

    class Meta:
        model = PlannedComparison
        fields = ("differs", "one", "other", "students", "blanks_each", "until", "outcome")
        widgets = {"students": forms.CheckboxSelectMultiple, "until": day_input()}
        field_classes = {"students": Several}

    def __init__(self, member: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Django calls it
        super().__init__(*args, **kwargs)
        self.member = member
        students = Member.objects.visible_to(member).students().select_related("person")
        self.fields["students"].queryset = students  # type: ignore[attr-defined]  # a ModelMultipleChoiceField
        self.fields["key"].initial = self.instance.key

    def clean_blanks_each(self) -> int:
        count: int = self.cleaned_data["blanks_each"]
        if not FEWEST_BLANKS <= count <= MOST_BLANKS:
            raise forms.ValidationError(_("From two blanks of each student to twenty-four."))
        return count

    def clean_until(self) -> dt.date:
        until: dt.date = self.cleaned_data["until"]
        today = timezone.localdate()
        if not today < until <= today + LONGEST:
            raise forms.ValidationError(_("Choose a day to come, within four hundred days."))
        return until

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if {"differs", "one", "other"} <= cleaned.keys():
            for name in ("one", "other"):
                self._read(name)
            if cleaned.get("one", "").casefold() == cleaned.get("other", " ").casefold():
                self.add_error("other", _("The two ways are one and the same."))
            self._outlasts_the_rest()
        self.instance.key = cleaned.get("key") or self.instance.key
        return cleaned

    def _read(self, name: str) -> None:
        """Read what was typed as what it is: days, millimetres, a cane lot, or words."""
        typed, differs = self.cleaned_data[name], Differs(self.cleaned_data["differs"])
        try:
            self.cleaned_data[name] = self._read_as(differs, typed)
        except NumberQuestion as question:
            self.add_error(name, say(question))
        except forms.ValidationError as refusal:
            self.add_error(name, refusal)

    def _read_as(self, differs: Differs, typed: str) -> str:
        if differs is Differs.REST:
            return _days(typed)
        if differs.is_amount:
            asked = QUANTITIES[differs.value]
            number = read_number(typed, name=asked.name, unit="mm", low=asked.low, high=asked.high)
            return f"{number:g}"
        if differs is Differs.LOT:
            return self._lot(typed)
        return typed

    def _lot(self, typed: str) -> str:
        lots = CaneLot.objects.visible_to(self.member).in_use()
        there = lots.filter(label__iexact=typed).first()
        if there is None:
            raise forms.ValidationError(_("No cane in use is called so: write what is on the bag."))
        return there.label

    def _outlasts_the_rest(self) -> None:
        """A comparison ends after the longer rest, with some days to find out."""
        until = self.cleaned_data.get("until")
        if self.cleaned_data.get("differs") != Differs.REST or not until or self.errors:
            return
        longer = max(float(self.cleaned_data[name]) for name in ("one", "other"))
        first = timezone.localdate() + dt.timedelta(days=longer) + AFTER_REST
        if until < first:
            words = gettext("Until then the longer rest is not over: choose %s or later.")
            self.add_error("until", words % date_format(first, "DATE_FORMAT"))


def _days(typed: str) -> str:
    """Return a rest in whole days: '8 weeks' is 56."""
    found = _REST.fullmatch(typed)
    if not found:
        raise forms.ValidationError(_("Type a rest in days, nights or weeks: 1 night, 8 weeks."))
    days = int(found[1]) * (7 if (found[2] or "").lower().startswith("w") else 1)
    if not 0 < days <= MOST_REST:
        raise forms.ValidationError(_("From one day to a year."))
    return str(days)


class BlankForm(forms.Form):
    """Which blank takes the next place."""

    reed = forms.ModelChoiceField(
        label=_("Which blank"),
        queryset=Reed.objects.none(),
        empty_label=None,
        error_messages={
            "invalid_choice": _("This reed cannot take a place: choose a blank that is offered."),
            "required": _("Choose a blank."),
        },
    )

    def __init__(self, member: Member, blanks: list[Reed], *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        rows = Reed.objects.visible_to(member).filter(pk__in=[blank.pk for blank in blanks])
        self.fields["reed"].queryset = rows.select_related("owner")  # type: ignore[attr-defined]


class WhyForm(OnceForm):
    """A reason in a line."""

    why = OneLine(label=_("Why"), max_length=200, error_messages={"required": _("Say why.")})
