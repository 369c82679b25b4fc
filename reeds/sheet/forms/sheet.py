"""Forms of a measuring sheet: its rows, a new sheet, and what one student's instrument wants beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reeds.checks.sheet import Limit, Sheet, SheetError, check_limit
from reeds.fields import TypedNumber
from reeds.numbers.quantity import Known, Quantity
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Flexibility, Stage, Style, gettext_noop
from reeds.sheet.forms.rows import Doubts, rows_of
from reeds.sheet.models.pattern import Pattern
from reeds.sheet.starters import STARTERS
from reeds.templatetags.quantities import signed
from reeds.wording import choices_of, say
from studio.models import Member
from studio.numerals import MINUS

OWN = gettext_noop("the studio's own")
MOST_ROWS = 120
ANY_FEEL = [("", gettext_lazy("any cane")), *choices_of(Flexibility)]
FEELS = [choice for choice in ANY_FEEL if choice[0] != Flexibility.UNKNOWN]
FROM_STAGE = [("", gettext_lazy("every stage")), *choices_of(list(Stage)[: Stage.PLAYED_OUT.order])]
STAPLE = QUANTITIES["staple_length"]
SIDES = {
    "low": gettext_lazy("low"),
    "aim": gettext_lazy("aim"),
    "high": gettext_lazy("high"),
}


class RowForm(forms.Form):
    """One row of a sheet; the fields fit the row's quantity."""

    quantity = forms.CharField(widget=forms.HiddenInput)
    flexibility = forms.ChoiceField(label=gettext_lazy("cane"), choices=FEELS, required=False)
    stage = forms.ChoiceField(label=gettext_lazy("from"), choices=FROM_STAGE, required=False)
    source = forms.CharField(label=gettext_lazy("rests on"), max_length=200, required=False)

    def __init__(self, known: Known, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Django calls it
        super().__init__(*args, **kwargs)
        self.known = known
        self.of = known.get(str(self["quantity"].value()), STAPLE)
        self.fields["staple"] = TypedNumber.of(STAPLE, label=_("staple (mm)"))
        if self.of.is_number:
            self.fields |= {side: TypedNumber.of(self.of, label=label) for side, label in SIDES.items()}
        else:
            wanted = [("", "–"), *((value, _(label)) for value, label in self.of.choices)]
            self.fields["choice"] = forms.ChoiceField(label=_("wanted"), choices=wanted, required=False)
        if self.of.at_bench and not self.of.is_number:
            self.fields["photo"] = forms.BooleanField(label=_("ask for a photo"), required=False)

    @property
    def row_label(self) -> str:
        """What tells this row from the others in a list of what was refused."""
        return _(self.of.name)

    @property
    def numbers(self) -> list[forms.BoundField]:
        """The three limits of a quantity that is a number."""
        return [self[side] for side in SIDES] if self.of.is_number else []

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.errors and not cleaned.get("DELETE"):
            try:
                check_limit(self.limit(), self.known)
            except SheetError as problem:
                raise ValidationError(say(problem)) from None
        return cleaned

    def limit(self) -> Limit:
        """Return the row as it was typed, with no source but a typed one."""
        given = self.cleaned_data
        feel, stage = given.get("flexibility"), given.get("stage")
        return Limit(
            quantity=given["quantity"],
            low=given.get("low"),
            aim=given.get("aim"),
            high=given.get("high"),
            choice=given.get("choice") or "",
            staple=given.get("staple"),
            flexibility=Flexibility(feel) if feel else None,
            stage=Stage(stage) if stage else None,
            photo=bool(given.get("photo")),
            source=given.get("source") or "",
        )


class RowFormSet(forms.BaseFormSet[RowForm]):
    """All rows of a sheet."""

    def sheet(self, before: Sheet) -> Sheet:
        """Return the sheet typed; a row that did not change keeps what it rested on. Raises SheetError."""
        rows = [form.limit() for form in self.forms if not form.cleaned_data.get("DELETE")]
        known = {replace(row, source=""): row for row in before.limits}
        return replace(before, limits=tuple(_with_source(row, known) for row in rows))


def _with_source(row: Limit, known: Mapping[Limit, Limit]) -> Limit:
    """What is typed goes first; else an unchanged row keeps its source, a changed one is the studio's own."""
    if row.source:
        return row
    there = known.get(row)
    return replace(row, source=there.source if there else OWN)


Rows = forms.formset_factory(
    RowForm, formset=RowFormSet, extra=0, can_delete=True, max_num=MOST_ROWS, validate_max=True
)


def rows_form(sheet: Sheet, data: Mapping[str, Any] | None = None) -> RowFormSet:
    """Return the form of a sheet's rows, filled from the sheet or with what was sent."""
    initial = [
        {
            "quantity": row.quantity,
            "low": row.low,
            "aim": row.aim,
            "high": row.high,
            "choice": row.choice,
            "staple": row.staple,
            "flexibility": row.flexibility or "",
            "stage": row.stage or "",
            "photo": row.photo,
        }
        for row in sheet.limits
    ]
    given: dict[str, Any] = {"initial": initial, "prefix": "row", "form_kwargs": {"known": sheet.known}}
    return Rows(data, **given)  # type: ignore[return-value]  # the factory forgets its class


@dataclass(frozen=True)
class RowLine:
    """A row's form with what it rests on now and, once a quantity, what a tool cannot decide."""

    form: RowForm
    source: str = ""
    hint: str = ""


def lines_of(rows: RowFormSet, before: Sheet, doubts: Doubts) -> list[RowLine]:
    """Return the rows of the form, each with what is known of it; added rows come last."""
    sources = [row.source for row in before.limits]
    hints = {one.quantity.key: one.hint for one in rows_of(before, doubts)}
    sources += [""] * max(0, len(rows.forms) - len(sources))
    return [
        RowLine(form, source, hints.pop(form.of.key, ""))
        for form, source in zip(rows.forms, sources, strict=False)
    ]


def with_one_more(data: Any, quantity: str, known: Known) -> Any:  # noqa: ANN401  # request.POST in and out
    """Return what was sent with an empty row more for this quantity."""
    more = data.copy()
    total = int(data.get("row-TOTAL_FORMS") or 0)
    if quantity in known and total < MOST_ROWS:
        more["row-TOTAL_FORMS"] = str(total + 1)
        more[f"row-{total}-quantity"] = quantity
    return more


class SaveSheetForm(forms.Form):
    """What goes with a new version: its name, what changed, and which version was being changed."""

    name = forms.CharField(label=gettext_lazy("Name of the sheet"), max_length=60)
    why = forms.CharField(label=gettext_lazy("What changed, and why"), max_length=200)
    seen = forms.IntegerField(widget=forms.HiddenInput)


class NewSheetForm(forms.Form):
    """A new sheet, begun from a starter or from one of the studio's own."""

    name = forms.CharField(label=gettext_lazy("Name of the sheet"), max_length=60)
    begun_from = forms.ChoiceField(label=gettext_lazy("Begin from"))

    def __init__(self, member: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.own = {str(p.pk): p for p in Pattern.objects.visible_to(member)}
        starters = [(style.value, _("the starter: %s") % _(style.label)) for style in STARTERS]
        copies = [(pk, _("a copy of %s") % pattern) for pk, pattern in self.own.items()]
        empty = (Style.OTHER.value, _("an empty sheet, for another scrape"))
        self.fields["begun_from"].choices = [*starters, *copies, empty]  # type: ignore[attr-defined]

    def sheet(self) -> Sheet:
        """Return the sheet to begin with."""
        chosen = self.cleaned_data["begun_from"]
        if chosen in self.own:
            return self.own[chosen].current.sheet
        return STARTERS.get(Style(chosen)) or Sheet(Style(chosen), ())

    def playing(self) -> object:
        """Return the playing test to begin with, as a version keeps it; None for the usual one."""
        chosen = self.cleaned_data["begun_from"]
        return self.own[chosen].current.playing if chosen in self.own else None

    @property
    def why(self) -> str:
        """Where it came from, in words."""
        names: dict[str, str] = dict(self.fields["begun_from"].choices)  # type: ignore[attr-defined]
        return _("begun from %s") % names[self.cleaned_data["begun_from"]]


TIED_LONGER = "tie_length"
MOVES_WITH_IT = ("cane_beyond_staple", "overall_length")
MOST_MM = 5.0


class OffsetsForm(forms.Form):
    """How much more or less than the sheet one student's reeds are to measure, in mm."""

    why = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=200,
        required=False,
        help_text=gettext_lazy("For example: this instrument plays sharp with the usual length."),
    )
    follow = forms.BooleanField(
        label=gettext_lazy("Move the cane beyond the staple and the overall length by as much"),
        required=False,
    )

    def __init__(self, lengths: list[Quantity], *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.keys = [quantity.key for quantity in lengths]
        for quantity in lengths:
            self.fields[quantity.key] = TypedNumber(
                name=quantity.name,
                unit="mm",
                low=-MOST_MM,
                high=MOST_MM,
                label=f"{_(quantity.name)} ({quantity.unit})",
            )

    @property
    def first(self) -> forms.BoundField | None:
        """The one that is set most often."""
        return self[TIED_LONGER] if TIED_LONGER in self.keys else None

    @property
    def others(self) -> list[forms.BoundField]:
        return [self[key] for key in self.keys if key != TIED_LONGER]

    def deltas(self) -> dict[str, float]:
        """Return the offsets typed, and those that follow from the tie length."""
        given = {key: self.cleaned_data.get(key) for key in self.keys}
        if self.cleaned_data.get("follow"):
            given |= {key: given.get(TIED_LONGER) for key in MOVES_WITH_IT if key in given}
        return {key: delta for key, delta in given.items() if delta}


class AskedOffsetForm(forms.Form):
    """An offset that a link asks for: by how much more than now; nobody has decided anything yet."""

    quantity = forms.ChoiceField(required=False)
    by = forms.FloatField(min_value=-MOST_MM, max_value=MOST_MM, required=False)

    def __init__(self, lengths: list[Quantity], there: Mapping[str, float], *args: Any) -> None:  # noqa: ANN401
        super().__init__(*args)
        self._there = there
        choice = cast(forms.ChoiceField, self.fields["quantity"])
        choice.choices = [(quantity.key, quantity.name) for quantity in lengths]

    def shown(self) -> dict[str, str | bool]:
        """Return what stands in the form of offsets instead of what is kept; nothing if the link asks for
        none."""
        if not self.is_valid() or not self.cleaned_data["quantity"] or not self.cleaned_data["by"]:
            return {}
        key = self.cleaned_data["quantity"]
        there = shown_offsets({key: self._there.get(key, 0.0) + self.cleaned_data["by"]})
        return {**there, **({"follow": True} if key == TIED_LONGER else {})}


def all_follow(offsets: Mapping[str, float]) -> bool:
    """Whether what follows from the tie length stands moved by as much as it."""
    return all(offsets.get(key) == offsets.get(TIED_LONGER) for key in MOVES_WITH_IT)


def shown_offsets(offsets: Mapping[str, float]) -> dict[str, str]:
    """Return offsets as they stand in the form, with their sign as a keyboard has it."""
    return {key: signed(delta).replace(MINUS, "-") for key, delta in offsets.items()}
