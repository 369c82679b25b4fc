"""The form of a new reed: it asks three things, all the rest is as it was with the last one."""

from __future__ import annotations

import uuid
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reeds.fields import PastMoment, TypedNumber
from reeds.numbers.entry import NumberQuestion
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Stage
from reeds.reed.forms.reed import STEPS, MadeOfForm
from reeds.reed.models.reed import Reed
from reeds.sheet.models.pattern import Pattern
from reeds.wording import choices_of
from studio.models import Member

MADE_AT = [stage for stage in STEPS if stage is not Stage.PLAYED_OUT]
MOST_AT_ONCE = 20
LARGEST_NUMBER = 9999  # what can still be written on a cork
USUAL_STAPLES = (45.0, 46.0, 47.0)  # mm, as they are sold: common practice, no source
WORDED = ("stage", "pattern", "cane", "shape", "staple")
FURTHER = ("since", "count", *WORDED, "staple_other", "is_model")


class MakeForm(MadeOfForm):
    """What a new reed is made of; several alike can be made at once."""

    number = forms.IntegerField(
        label=gettext_lazy("Number on the cork"), min_value=1, required=False, show_hidden_initial=True
    )
    pattern = forms.ModelChoiceField(
        label=gettext_lazy("Measuring sheet"), queryset=Pattern.objects.none(), empty_label=None
    )
    stage = forms.ChoiceField(label=gettext_lazy("How far is it"))
    since = PastMoment(label=gettext_lazy("Since when"))
    count = forms.IntegerField(
        label=gettext_lazy("How many alike"), min_value=1, max_value=MOST_AT_ONCE, initial=1
    )
    batch = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=uuid.uuid4)

    class Meta(MadeOfForm.Meta):
        fields = ("pattern", "stage", "since", "count", *MadeOfForm.Meta.fields)  # type: ignore[assignment]

    def __init__(
        self,
        owner: Member,
        *args: Any,  # noqa: ANN401
        asks_stage: bool = False,
        **kwargs: Any,  # noqa: ANN401
    ) -> None:
        """`asks_stage`: how far it is stands among what is asked, since its numbers are asked next."""
        super().__init__(owner, *args, label_suffix="", **kwargs)
        self.owner, self.asks_stage = owner, asks_stage
        self.fields["stage"].choices = choices_of(MADE_AT)  # type: ignore[attr-defined]
        patterns = Pattern.objects.visible_to(owner).in_use()
        self.fields["pattern"].queryset = patterns  # type: ignore[attr-defined]
        self.fields["number"].widget.attrs |= {"class": "number", "inputmode": "numeric"}
        self._staple = TypedNumber.of(QUANTITIES["staple_length"], label=_("A staple of another length (mm)"))
        self.fields["staple_other"] = self._staple
        if owner.teaches:
            self.fields["is_model"] = forms.BooleanField(
                required=False, label=_("A model to compare students' reeds with")
            )

    def clean_number(self) -> int | None:
        """The number typed; None where the one proposed was left, so that the next free one is taken."""
        number: int | None = self.cleaned_data["number"]
        if number is None or "number" not in self.changed_data:
            return None
        if number > LARGEST_NUMBER:
            raise ValidationError(_("A number has at most four digits."))
        return number

    def clean(self) -> dict[str, Any]:
        """Take the length of the staple, by which the lengths of the reed are judged, from either field."""
        given = super().clean() or self.cleaned_data
        if given.get("staple_other") is not None:
            given["staple_length"] = given["staple_other"]
            self.errors.pop("staple_length", None)
        if given.get("staple_length") is None and not {"staple_length", "staple_other"} & self.errors.keys():
            self.add_error("staple_length", _("Choose its staple: the lengths of the reed are judged by it."))
        return given

    def reed(self) -> Reed:
        """Return the unsaved reed that the form describes."""
        reed: Reed = self.save(commit=False)
        given = self.cleaned_data
        reed.studio, reed.owner = self.owner.studio, self.owner
        reed.version, reed.stage = given["pattern"].current, given["stage"]
        reed.batch = given.get("batch") or reed.batch
        reed.made_at = reed.stage_since = given.get("since") or timezone.now()
        reed.is_model = bool(given.get("is_model"))
        return reed

    @property
    def staples(self) -> list[tuple[str, bool]]:
        """The lengths of staples to tap on, each with whether it is chosen."""
        chosen = self._chosen_staple()
        lengths = sorted({*USUAL_STAPLES, *([chosen] if chosen else [])})
        return [(number_format(mm, None if mm % 1 else 0), mm == chosen) for mm in lengths]

    def _chosen_staple(self) -> float | None:
        value = self["staple_length"].value()
        try:
            return self._staple.read(str(value)) if value not in (None, "") else None
        except NumberQuestion:
            return None

    @property
    def further(self) -> list[forms.BoundField]:
        """What is seldom asked anew."""
        asked = {"stage"} if self.asks_stage else set()
        return [self[name] for name in FURTHER if name in self.fields.keys() - asked]

    @property
    def is_wrong_further(self) -> bool:
        """Whether something among these has to be put right."""
        return any(field.errors for field in self.further)

    @property
    def taken_over(self) -> list[str]:
        """How these stand, in words, without what says nothing."""
        count, folded = self["count"].value(), [field.name for field in self.further]
        alike = [] if str(count) in ("", "1") else [_("%s alike") % count]
        words = [self._in_words(name) for name in WORDED if name in folded]
        return alike + [one for one in words if one]

    def _in_words(self, name: str) -> str:
        value = str(self[name].value() or "")
        choices = getattr(self.fields[name], "choices", ())
        return next((str(label) for key, label in choices if value and str(key) == value), value)


def usual(owner: Member) -> dict[str, Any]:
    """Return what the owner's next reed begins with: as the newest was made; never what was felt."""
    patterns = Pattern.objects.visible_to(owner).in_use()
    number = Reed.objects.visible_to(owner).next_number(owner)
    begin = {"number": number, "stage": Stage.TIED, "pattern": _first(patterns)}
    last = owner.reeds.order_by("-number").select_related("version", "cane").first()
    if last is None:
        return begin
    cane = last.cane if last.cane and last.cane.finished_on is None else None
    stage = last.events.order_by("at", "pk").values_list("to_stage", flat=True).first()
    return {
        **begin,
        "pattern": _first(patterns.filter(pk=last.version.pattern_id)) or begin["pattern"],
        "cane": cane.pk if cane else None,
        "shape": last.shape,
        "staple": last.staple,
        "staple_length": last.staple_length,
        "stage": stage or begin["stage"],
    }


def _first(patterns: Any) -> int | None:  # noqa: ANN401  # the queryset of patterns
    pk: int | None = patterns.values_list("pk", flat=True).first()
    return pk
