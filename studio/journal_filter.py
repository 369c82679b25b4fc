"""What of a journal is shown: what happened, of whom, between which days."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django import forms
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from studio.forms import day_input
from studio.journal import Happened, JournalQuerySet
from studio.models import Member

MEMBERS = Member._default_manager


class JournalFilter(forms.Form):
    """What is asked for; what cannot be read is left out."""

    happened = forms.ChoiceField(
        label=_("What happened"), required=False, choices=[("", _("anything")), *Happened.choices]
    )
    who = forms.ModelChoiceField(
        label=_("Who, or whose"), queryset=MEMBERS.none(), required=False, empty_label=_("anybody")
    )
    first = forms.DateField(label=_("From"), required=False, widget=day_input())
    last = forms.DateField(label=_("Until"), required=False, widget=day_input())

    def __init__(self, member: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Form takes them
        super().__init__(*args, **kwargs)
        people = Member.objects.visible_to(member).select_related("person")
        self.fields["who"].queryset = people  # type: ignore[attr-defined]  # it is a ModelChoiceField

    def narrow(self, rows: JournalQuerySet) -> JournalQuerySet:
        """Return the rows that were asked for."""
        self.full_clean()
        asked = self.cleaned_data if self.is_bound else {}
        if asked.get("happened"):
            rows = rows.filter(happened=asked["happened"])
        if asked.get("who"):
            rows = rows.filter(Q(by=asked["who"]) | Q(whose=asked["who"]))
        if asked.get("first"):
            rows = rows.filter(at__gte=_midnight(asked["first"]))
        if asked.get("last"):
            rows = rows.filter(at__lt=_midnight(asked["last"]) + dt.timedelta(days=1))
        return rows


def _midnight(day: dt.date) -> dt.datetime:
    """Return the beginning of a day on the studio's clock."""
    return timezone.make_aware(dt.datetime.combine(day, dt.time()))
