"""What a person chooses of an export."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from lessons.export.models import Wanted
from studio.models import Member, Role, Term


class ExportForm(forms.Form):
    """Whose, of which term, with or without pictures; a student's is always their own."""

    student = forms.ModelChoiceField(
        label=_("Whose"),
        queryset=Member.objects.none(),
        required=False,
        empty_label=_("the whole studio"),
        help_text=_("One student's holds nothing of anybody else."),
    )
    term = forms.ModelChoiceField(
        label=_("Of which term"),
        queryset=Term.objects.none(),
        required=False,
        empty_label=_("all of the time"),
        help_text=_("A term's holds what happened in it, and the reeds to which it happened."),
    )
    without_pictures = forms.BooleanField(label=_("Leave out photos and recordings"), required=False)

    def __init__(self, member: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Django calls it
        super().__init__(*args, **kwargs)
        people = Member.objects.visible_to(member).filter(role=Role.STUDENT).select_related("person")
        self.fields["student"].queryset = people  # type: ignore[attr-defined]  # a ModelChoiceField
        self.fields["term"].queryset = Term.objects.visible_to(member)  # type: ignore[attr-defined]
        if not member.leads:
            del self.fields["student"]

    @property
    def wanted(self) -> Wanted:
        """What was chosen; only of a valid form."""
        chosen = self.cleaned_data
        return Wanted(chosen.get("student"), chosen["term"], not chosen["without_pictures"])
