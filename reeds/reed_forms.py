"""Forms about a whole reed."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from reeds.models import CaneLot, Pattern, Reed
from reeds.vocabulary import Stage
from studio.models import Member


class MakeForm(forms.ModelForm[Reed]):
    """What a new reed is made of; several alike can be made at once."""

    pattern = forms.ModelChoiceField(label=_("Measuring sheet"), queryset=Pattern.objects.none())
    count = forms.IntegerField(label=_("How many alike"), min_value=1, max_value=20, initial=1)
    stage = forms.ChoiceField(
        label=_("How far is it"), choices=[(s.value, _(s.label)) for s in Stage if s is not Stage.GIVEN_UP]
    )

    class Meta:
        model = Reed
        fields = ("cane", "shape", "staple", "staple_length", "flexibility", "stage")

    def __init__(self, member: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.member = member
        patterns = Pattern.objects.visible_to(member).filter(put_away_at__isnull=True)
        self.fields["pattern"].queryset = patterns  # type: ignore[attr-defined]
        self.fields["pattern"].initial = patterns.first()
        self.fields["cane"].queryset = CaneLot.objects.visible_to(member)  # type: ignore[attr-defined]

    def reed(self) -> Reed:
        """Return the unsaved reed that the form describes."""
        reed: Reed = self.save(commit=False)
        reed.studio, reed.owner = self.member.studio, self.member
        reed.version = self.cleaned_data["pattern"].current
        return reed
