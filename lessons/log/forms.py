"""What is filled in to bring a list in: the file, what its columns are, what is agreed to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from lessons.log.actions.keep import Upload
from lessons.log.actions.write import Agreed
from lessons.log.around import Understood
from lessons.log.choices import LEFT_OUT, Choices
from lessons.log.table.columns import STEPS, Column, Kind
from lessons.log.table.days import Order
from lessons.log.table.existing import Existing
from lessons.log.table.headings import OTHER_UNIT, factor_of, heading_of
from lessons.log.table.rows import MAX_BYTES, TOO_LARGE
from reeds.fields import OnceForm, PastDay
from reeds.sheet.models.pattern import Pattern
from reeds.wording import filled
from studio.models import Member

UNDECIDED, LEAVE_OUT = "?", "-"
# of more columns than these only those that are known have a field each
MOST_FIELDS = 60


class UploadForm(OnceForm):
    """The file, and whose reeds are in it: a student's are their own."""

    file = forms.FileField(
        label=gettext_lazy("The list"),
        allow_empty_file=True,
        help_text=gettext_lazy(
            "A CSV file, or the first sheet of an XLSX workbook; its first row names the columns."
        ),
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx,text/csv"}),
    )

    def __init__(self, member: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Django calls it
        super().__init__(*args, **kwargs)
        self.member = member
        if member.leads:
            people = Member.objects.visible_to(member).makers().select_related("person")
            self.fields["student"] = forms.ModelChoiceField(
                label=_("Whose reeds"), queryset=people, required=False, empty_label=_("a column says it")
            )

    def clean_file(self) -> UploadedFile[bytes]:
        file: UploadedFile[bytes] = self.cleaned_data["file"]
        if (file.size or 0) > MAX_BYTES:
            raise ValidationError(filled(TOO_LARGE, {"most": MAX_BYTES // (1024 * 1024)}))
        return file

    @property
    def upload(self) -> Upload:
        """What was chosen; only of a valid form."""
        member, file = self.member, self.cleaned_data["file"]
        student = self.cleaned_data.get("student") if member.leads else member
        return Upload(file.name or "", file.read(), member.studio, member, student)


class ChoicesForm(forms.Form):
    """What each column is, and how what is unclear is settled."""

    sheet = forms.ModelChoiceField(
        label=gettext_lazy("Measuring sheet"),
        queryset=Pattern.objects.none(),
        empty_label=None,
        help_text=gettext_lazy("Of reeds whose row names none."),
    )
    existing = forms.ChoiceField(
        label=gettext_lazy("A reed whose number is there already"),
        choices=[
            (Existing.REFUSE.value, gettext_lazy("its row is not used")),
            (Existing.ADD.value, gettext_lazy("its numbers, ratings and notes are added to the reed")),
            (Existing.NEW.value, gettext_lazy("a new reed is made, with the next free number")),
        ],
    )
    made_on = PastDay(
        label=gettext_lazy("Day of reeds without one"),
        help_text=gettext_lazy("Empty: a row that tells no day at all is not used."),
    )

    def __init__(self, member: Member, understood: Understood, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        self.understood, chosen = understood, understood.log.chosen
        kwargs["initial"] = {"sheet": chosen.sheet, "existing": chosen.existing, "made_on": chosen.made_on}
        super().__init__(*args, **kwargs)
        self.fields["sheet"].queryset = Pattern.objects.visible_to(member).in_use()  # type: ignore[attr-defined]
        offered = _offered(understood.columns)
        for place, heading in self.shown:
            self.fields[f"column-{place}"] = forms.ChoiceField(
                label=heading, choices=offered, initial=_as_offered(chosen, place)
            )
        for place in self._asked_orders:
            self.fields[f"order-{place}"] = _order_field(understood.log.headings[place], chosen, place)

    @property
    def shown(self) -> list[tuple[int, str]]:
        """The columns that have a field: all, or of very many those that are taken for something."""
        headings = list(enumerate(self.understood.log.headings))
        if len(headings) <= MOST_FIELDS:
            return headings
        return [(place, heading) for place, heading in headings if place in self.understood.taken]

    @property
    def _asked_orders(self) -> list[int]:
        """The columns of days whose order their cells do not show."""
        chosen = self.understood.log.chosen.orders
        return [p for p, order in self.understood.orders.items() if order is Order.OPEN or p in chosen]

    def column_fields(self) -> Iterator[forms.BoundField]:
        """Yield the field of each column that has one, those first that nobody decided on."""
        places = [place for place, _heading in self.shown]
        undecided = set(self.understood.undecided)
        return (self[f"column-{place}"] for place in sorted(places, key=lambda place: place not in undecided))

    def other_fields(self) -> Iterator[forms.BoundField]:
        """Yield the rest, the questions first."""
        yield from (self[f"order-{place}"] for place in self._asked_orders)
        yield from (self[name] for name in ("existing", "sheet", "made_on"))

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        taken: dict[str, str] = {}
        for place, heading in self.shown:
            key = given.get(f"column-{place}", UNDECIDED)
            if key in (UNDECIDED, LEAVE_OUT):
                continue
            if key in taken:
                self.add_error(f"column-{place}", _("“%s” is taken for the same.") % taken[key])
            elif wrong := _wrong_unit(self.understood.columns[key], heading):
                self.add_error(f"column-{place}", wrong)
            taken[key] = heading
        return given

    @property
    def choices(self) -> Choices:
        """What was chosen; only of a valid form."""
        given, before = self.cleaned_data, self.understood.log.chosen
        said = {place: given[f"column-{place}"] for place, _heading in self.shown}
        columns = {place: key for place, key in before.columns.items() if place not in said}
        columns |= {p: LEFT_OUT if key == LEAVE_OUT else key for p, key in said.items() if key != UNDECIDED}
        orders = {place: Order(given[f"order-{place}"]) for place in self._asked_orders}
        return replace(
            before,
            columns=columns,
            orders=orders,
            existing=Existing(given["existing"]),
            sheet=given["sheet"].pk,
            made_on=given["made_on"],
        )


def _as_offered(chosen: Choices, place: int) -> str:
    key = chosen.columns.get(place)
    return UNDECIDED if key is None else key or LEAVE_OUT


def _order_field(heading: str, chosen: Choices, place: int) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=_("Days under “%s” such as 3/4/2026") % heading,
        choices=[
            (Order.OPEN.value, _("choose")),
            (Order.DAY_FIRST.value, _("the day comes first: 3 April")),
            (Order.MONTH_FIRST.value, _("the month comes first: 4 March")),
        ],
        initial=chosen.orders.get(place, Order.OPEN),
    )


def _wrong_unit(column: Column, heading: str) -> str:
    """Say that what stands in brackets is a unit of something else; '' where it is not."""
    unit = heading_of(heading).unit if column.kind is Kind.NUMBER else ""
    if factor_of(column, unit) is not None:
        return ""
    return filled(OTHER_UNIT, {"unit": unit, "name": column.name})


def _offered(columns: dict[str, Column]) -> list[Any]:
    """What a column can be, in groups."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for key, column in columns.items():
        groups.setdefault(_group(column), []).append((key, _(column.name)))
    return [(UNDECIDED, _("choose")), (LEAVE_OUT, _("leave it out")), *groups.items()]


def _group(column: Column) -> str:
    if column.quantity is not None:
        return str(_("measured or seen"))
    if column.kind is Kind.GRADE:
        return str(_("how it played"))
    return str(_("days of its life")) if column.key in STEPS else str(_("the reed and the row"))


class AgreedForm(forms.Form):
    """What is said yes to before a list is brought in: only what is asked has a box."""

    leave_columns = forms.BooleanField(required=False)
    leave_rows = forms.BooleanField(required=False)
    again = forms.BooleanField(required=False)

    @property
    def agreed(self) -> Agreed:
        """What was said yes to."""
        return Agreed(**self.cleaned_data)
