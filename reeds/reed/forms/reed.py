"""Forms about a whole reed: finding it, its steps, its clips, what it is made of, its cane."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reeds.fields import OnceForm, PastDay, PastMoment, TypedNumber
from reeds.numbers.measured import Measured
from reeds.numbers.quantity import u_of_length
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method, Stage
from reeds.reed.listed import Chosen
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.reed import Reed
from reeds.sheet.models.pattern import Pattern, PatternVersion
from reeds.wording import choices_of
from studio.access import Seer
from studio.models import NAMING, Member, called
from studio.prepared import prepared
from studio.widgets_written import LongSelect

STEPS = [stage for stage in Stage if stage is not Stage.GIVEN_UP]


class MadeOfForm(forms.ModelForm[Reed]):
    """What a reed is made of: its cane, shape and staple, and how the wet cane feels."""

    class Meta:
        model = Reed
        fields = ("cane", "shape", "staple", "staple_length", "flexibility")

    def __init__(self, owner: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        lots = CaneLot.objects.for_reeds_of(owner)
        in_use = lots.in_use() | lots.filter(pk=self.instance.cane_id or 0)
        self.fields["cane"].queryset = in_use  # type: ignore[attr-defined]
        self.fields["cane"].label = _("Cane lot")
        self.fields["staple_length"] = TypedNumber.of(
            QUANTITIES["staple_length"],
            label=_("Staple, nominal length (mm)"),
            help_text=_("45, 46, 47: as it is sold."),
        )


class FindForm(forms.Form):
    """What narrows the list of reeds: the number on the cork, stage, sheet and student."""

    number = forms.CharField(
        label=gettext_lazy("Number on the cork"),
        required=False,
        max_length=9,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    stage = forms.ChoiceField(label=gettext_lazy("Stage"), required=False)
    pattern = forms.TypedChoiceField(
        label=gettext_lazy("Measuring sheet"),
        required=False,
        coerce=int,
        empty_value=None,
        widget=LongSelect,
    )

    def __init__(self, member: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        everything = ("", _("all"))
        self.fields["stage"].choices = [everything, *choices_of(list(Stage))]  # type: ignore[attr-defined]
        self.fields["pattern"].choices = [everything, *_patterns(member)]  # type: ignore[attr-defined]
        if member.teaches or member.is_guardian:
            makers = ((row[0], called(*row)) for row in _makers(member))
            self.fields["student"] = forms.TypedChoiceField(
                label=_("Whose"),
                choices=[everything, *makers],
                required=False,
                coerce=int,
                empty_value=None,
                widget=LongSelect,
            )

    def clean_number(self) -> int | None:
        text: str = self.cleaned_data["number"].strip()
        if not text:
            return None
        if not text.isdecimal():
            raise ValidationError(_("The number on a cork is made of digits only."))
        return int(text)

    @property
    def chosen(self) -> Chosen:
        """What the list is narrowed by."""
        told = self.cleaned_data
        return told["number"], told["stage"], told["pattern"], told.get("student")


@prepared
def _patterns(member: Seer) -> QuerySet[Pattern, tuple[int, str]]:
    return Pattern.objects.visible_to(member).values_list("pk", "name")


@prepared
def _makers(member: Seer) -> QuerySet[Member, tuple[Any, ...]]:
    return Member.objects.visible_to(member).makers().values_list("pk", *NAMING)


class StepForm(forms.Form):
    """A step on, over some, or back, with its time."""

    prefix = "step"

    to_stage = forms.ChoiceField(label=gettext_lazy("It is now"))
    at = PastMoment()
    why = forms.CharField(label=gettext_lazy("A word about it"), max_length=300, required=False)

    def __init__(self, reed: Reed, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        here = Stage(reed.stage)
        later = here.later
        kwargs["initial"] = {"to_stage": later[0].value if later else ""}
        super().__init__(*args, **kwargs)
        choices = choices_of(stage for stage in STEPS if stage is not here)
        # where nothing follows, nothing is chosen beforehand: going back is meant
        self.fields["to_stage"].choices = choices if later else [("", _("choose")), *choices]  # type: ignore[attr-defined]


class ClipForm(OnceForm):
    """One clip from the tip."""

    prefix = "clip"

    at = PastMoment()
    method = forms.ChoiceField(label=gettext_lazy("measured with"), initial=Method.RULER)

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        ways = [Method.RULER, Method.CALIPER, Method.EYE]
        self.fields["method"].choices = choices_of(ways)  # type: ignore[attr-defined]
        self.fields["taken"] = TypedNumber.of(
            QUANTITIES["clipped"],
            label=_("Clipped (mm)"),
            help_text=_("Only this time; the sum is kept."),
            required=True,
        )

    def taken(self, doubts: Mapping[Method, float]) -> Measured:
        """How much, mm, with the doubt of the tool; `doubts` are the studio's own."""
        u = u_of_length(Method(self.cleaned_data["method"]), doubts)
        return Measured(self.cleaned_data["taken"], u or 0.0)


class GiveUpForm(forms.Form):
    """Giving a reed up, with the reason."""

    prefix = "end"

    why = forms.CharField(label=gettext_lazy("Why is it given up"), max_length=300)
    at = PastMoment()


class SheetMoveForm(forms.Form):
    """Another measuring sheet for one reed; only a teacher moves it."""

    prefix = "sheet"

    version = forms.ModelChoiceField(
        label=gettext_lazy("Measuring sheet"), queryset=PatternVersion.objects.none(), empty_label=None
    )
    why = forms.CharField(label=gettext_lazy("Why"), max_length=300, required=False)

    def __init__(self, member: Member, reed: Reed, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        versions = PatternVersion.objects.visible_to(member).current().select_related("pattern")
        same = versions.filter(pattern=reed.version.pattern_id).values_list("pk", flat=True).first()
        kwargs["initial"] = {"version": same}
        super().__init__(*args, **kwargs)
        self.fields["version"].queryset = versions  # type: ignore[attr-defined]


MOST_PIECES = 2000


class CaneForm(forms.ModelForm[CaneLot]):
    """A lot of cane as it was bought."""

    bought_on = PastDay(label=gettext_lazy("Bought on"))
    finished_on = PastDay(label=gettext_lazy("Used up on"))

    class Meta:
        model = CaneLot
        fields = ("label", "pieces", "lost", "tube_diameter", "gouge", "bought_on", "finished_on", "note")
        labels = {"pieces": gettext_lazy("Pieces bought")}
        help_texts = {"pieces": gettext_lazy("Then the list says how many are left.")}

    lost = forms.IntegerField(
        label=gettext_lazy("Of these lost"),
        required=False,
        min_value=0,
        max_value=MOST_PIECES,
        help_text=gettext_lazy("Split, broken or given away, and no reed was made of them."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        for name, label in (("tube_diameter", _("Tube diameter (mm)")), ("gouge", _("Gouge (mm)"))):
            self.fields[name] = TypedNumber.of(QUANTITIES[name], label=label)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        bought, finished = given.get("bought_on"), given.get("finished_on")
        if bought and finished and finished < bought:
            self.add_error("finished_on", _("It cannot have been used up before it was bought."))
        self._count(given.get("pieces"), given.get("lost") or 0)
        return given

    def clean_lost(self) -> int:
        """Nothing typed is none lost."""
        return self.cleaned_data["lost"] or 0

    def _count(self, pieces: int | None, lost: int) -> None:
        """Refuse fewer pieces than are gone."""
        made = self.instance.reeds.filter(taken_out_at__isnull=True).count() if self.instance.pk else 0
        if pieces is not None and pieces > MOST_PIECES:
            self.add_error("pieces", _("A lot has at most %d pieces.") % MOST_PIECES)
        elif pieces is not None and pieces < made + lost:
            told = _("%(gone)d pieces are gone (%(made)d made, %(lost)d lost): there must have been more.")
            self.add_error("pieces", told % {"gone": made + lost, "made": made, "lost": lost})
